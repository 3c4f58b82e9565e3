import type {
  Ear,
  PlantRule,
  PointRule,
  RuleFacts,
  Symptom,
  WatchedPoint,
  WatchedReading,
} from './rule.ts';
import { plantRules, pointRules } from './rules.ts';

/** What changed since the last look. */
export type FaultChange =
  | ({ change: 'found'; rule: string; doubts: boolean } & Symptom)
  | { change: 'over'; rule: string; point: string; fromMs: number; toMs: number };

interface Lasting {
  symptom: Symptom;
  facts: RuleFacts;
  /** Last look at which it was still seen [ms]. */
  seenMs: number;
  /** Found before a restart and not seen since: nobody knows before this that it is over [ms]. */
  keptUntilMs: number;
}

/** All rules over all points of a plant. Fed reading by reading; a look tells what began and what ended. */
export class FaultWatch {
  readonly #ofPoint = new Map<string, { facts: RuleFacts; rule: PointRule }[]>();
  /** All that hear a point, each found once: thousands of points speak every second. */
  readonly #ears = new Map<string, Ear[]>();
  readonly #ofPlant: { facts: RuleFacts; rule: PlantRule }[];
  readonly #lasting = new Map<string, Lasting>();

  constructor(points: readonly WatchedPoint[]) {
    for (const point of points) {
      const rules = pointRules.flatMap((facts) => {
        const rule = facts.over(point);
        return rule === null ? [] : [{ facts, rule }];
      });
      this.#ofPoint.set(point.id, rules);
    }
    this.#ofPlant = plantRules.map((facts) => ({ facts, rule: facts.over(points) }));
    for (const [id, rules] of this.#ofPoint) {
      const own = rules.map(({ rule }) => rule);
      this.#ears.set(id, [...own, ...this.#ofPlant.flatMap(({ rule }) => rule.ear(id) ?? [])]);
    }
  }

  /** What the ledger says was found and is not over: nothing of it is said twice after a restart. */
  resume(lasting: readonly ({ rule: string } & Symptom)[], nowMs: number): void {
    for (const { rule, ...symptom } of lasting) {
      const facts = [...pointRules, ...plantRules].find((each) => each.rule === rule);
      if (facts === undefined) continue;
      const keptUntilMs = nowMs + facts.needsMs;
      this.#lasting.set(keyOf(rule, symptom.point), { symptom, facts, seenMs: nowMs, keptUntilMs });
      this.#ofPlant.find((own) => own.facts === facts)?.rule.resume?.(symptom);
    }
  }

  take(point: string, reading: WatchedReading): void {
    for (const ear of this.#ears.get(point) ?? []) ear.take(reading);
  }

  loaded(points: readonly string[], startMs: number): void {
    for (const { rule } of this.#ofPlant) rule.loaded?.(points, startMs);
  }

  look(nowMs: number): FaultChange[] {
    const seen = new Map<string, { facts: RuleFacts; symptom: Symptom }>();
    for (const [point, rules] of this.#ofPoint) {
      for (const { facts, rule } of rules) {
        const found = rule.look(nowMs);
        if (found === null) continue;
        seen.set(keyOf(facts.rule, point), { facts, symptom: { point, others: [], ...found } });
      }
    }
    for (const { facts, rule } of this.#ofPlant) {
      for (const symptom of rule.look(nowMs)) {
        seen.set(keyOf(facts.rule, symptom.point), { facts, symptom });
      }
    }
    return [...this.#begun(seen, nowMs), ...this.#ended(seen, nowMs)];
  }

  #begun(
    seen: ReadonlyMap<string, { facts: RuleFacts; symptom: Symptom }>,
    nowMs: number,
  ): FaultChange[] {
    return [...seen].flatMap(([key, { facts, symptom }]): FaultChange[] => {
      const known = this.#lasting.get(key);
      const lasting = { symptom: known?.symptom ?? symptom, facts, seenMs: nowMs };
      this.#lasting.set(key, { ...lasting, keptUntilMs: nowMs });
      if (known !== undefined) return [];
      return [{ change: 'found', rule: facts.rule, doubts: facts.doubts, ...symptom }];
    });
  }

  #ended(seen: ReadonlyMap<string, unknown>, nowMs: number): FaultChange[] {
    return [...this.#lasting].flatMap(([key, { symptom, facts, ...known }]): FaultChange[] => {
      const { seenMs, keptUntilMs } = known;
      if (seen.has(key) || nowMs < keptUntilMs) return [];
      this.#lasting.delete(key);
      const { point, fromMs } = symptom;
      return [{ change: 'over', rule: facts.rule, point, fromMs, toMs: seenMs }];
    });
  }
}

function keyOf(rule: string, point: string): string {
  return `${rule} ${point}`;
}
