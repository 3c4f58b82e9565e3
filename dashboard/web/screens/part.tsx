import '../style/part.css';
import type { PartDetail, PartNext, PartStep } from '@setwell/shared-models/api/part';
import { loadSlot, verdictToken, type FloorLoad } from '@setwell/shared-models/api/floor';
import type { Decided } from '@setwell/shared-models/record/decisions';
import type { ScoredEvent } from '@setwell/shared-models/score/shape';
import { actsDone, unansweredText } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { CoatStackTable } from '../cure/coat-stack.tsx';
import { CureBar } from '../cure/cure-bar.tsx';
import { Sign } from '../cure/sign.tsx';
import { say, sayAny } from '../language.ts';
import { live, rowMs, staleSinceMs } from '../live.ts';
import { amountText } from '../load/amount.ts';
import { clockFrom, clockUp, placeText, slotText, whoText } from '../phrase.ts';
import { loadAddress } from '../route.ts';

const at = (ms: number): string => clockFrom(ms, rowMs.value);

function reasonOf({ rule, reason }: Decided): string {
  return rule === null ? reason : say(`trail.byRule.${rule}`);
}

const decisionOf = ({ decision }: Decided): string => sayAny(`decide.${decision}`, decision);

const decidedValues = (decided: Decided) => ({
  clock: at(decided.atMs),
  by: whoText(decided.by),
  decision: decisionOf(decided),
  reason: reasonOf(decided),
});

/** A time of its recipe: before it, in it, past it. */
function waitText({ what, fromMs, toMs }: Extract<PartNext, { fromMs: number }>): string {
  const nowMs = rowMs.value;
  const values = { from: clockUp(fromMs, nowMs), to: toMs === null ? '' : at(toMs) };
  const isReady = nowMs >= fromMs;
  if (what === 'rest') return say(`part.next.rest.${isReady ? 'ready' : 'waits'}`, values);
  const isLate = toMs !== null && nowMs > toMs;
  return say(`part.next.recoat.${isLate ? 'late' : isReady ? 'ready' : 'waits'}`, values);
}

/** In a station: what its row says, and when it is ready. */
function inText(load: FloorLoad): string {
  const nowMs = rowMs.value;
  const token = verdictToken(load);
  const texts = [
    say('part.next.in', {
      station: load.station,
      verdict: say(`verdict.${token}`),
      slot: slotText(loadSlot(load, nowMs), nowMs),
    }),
  ];
  const readyMs = load.forecast?.provenAtMs ?? null;
  if (token !== 'in-window' && readyMs !== null) {
    texts.push(say('part.next.ready', { clock: clockUp(Math.max(readyMs, nowMs), nowMs) }));
  }
  return texts.join(' ');
}

function nextText({ next, steps }: PartDetail): string {
  switch (next.what) {
    case 'in': {
      const step = steps.find((each) => each.what === 'load' && each.load === next.load);
      const shown = live.value.loads[next.load] ?? (step?.what === 'load' ? step.shown : undefined);
      return shown === undefined ? '' : inText(shown);
    }
    case 'held':
    case 'scrapped':
    case 're-press':
    case 'rework':
    case 'released':
      return say(`part.next.${next.what}`, decidedValues(next.decided));
    case 'undecided':
      return say('part.next.undecided', { verdict: say(`verdict.${next.verdict}`) });
    case 'recoat':
    case 'rest':
      return waitText(next);
    case 'free':
      return say('part.next.free');
  }
}

/** What an event has measured or named, with its unit. */
const units: [name: string, unit: string][] = [
  ['tempC', '°C'],
  ['pct', '%'],
  ['gPerM2', 'g/m²'],
  ['um', 'µm'],
  ['nPerMm2', 'N/mm²'],
  ['partsPer100', '/100'],
];

function eventText({ event, numbers, names }: ScoredEvent): string {
  const { coat, value, passed } = numbers;
  const told = [
    ...(coat === undefined ? [] : [say('coat.name', { n: coat })]),
    ...units.flatMap(([name, unit]) => {
      const amount = numbers[name];
      return amount === undefined ? [] : [amountText(amount, unit)];
    }),
    ...(names['method'] === undefined ? [] : [names['method']]),
    ...(value === undefined ? [] : [amountText(value, names['unit'] ?? '1')]),
    ...(passed === undefined ? [] : [say(passed === 1 ? 'part.said.passed' : 'part.said.failed')]),
    ...(names['mix'] === undefined ? [] : [names['mix']]),
  ];
  const name = sayAny(`part.said.${event}`, event);
  return told.length === 0 ? name : `${name}: ${told.join(', ')}`;
}

type LoadStep = Extract<PartStep, { what: 'load' }>;

/** One load that it was in: what its heat came to, and the way to all of its evidence. */
function LoadOf({ step: { shown, load, kind, together } }: { step: LoadStep }) {
  const now = live.value.loads[load] ?? shown;
  const token = verdictToken(now);
  const running = now.state === 'open';
  const dashed = running && (staleSinceMs.value !== null || now.blindSinceMs !== null);
  const { recipe, worst, window, startMs, endMs } = now;
  const facts = [
    running || endMs === null
      ? say('part.load.since', { from: at(startMs) })
      : say('part.load.times', { from: at(startMs), to: at(endMs) }),
    ...(together === 2 ? [say('part.load.together.one')] : []),
    ...(together > 2 ? [say('part.load.together', { n: together - 1 })] : []),
    ...(worst === null ? [] : [say('part.load.place', { place: placeText(worst) })]),
  ];
  return (
    <>
      <p class="with-sign">
        <Sign token={token} dashed={dashed} />
        <b>{say(`verdict.${token}`)}</b>
      </p>
      <p>
        {say('part.load', {
          kind: sayAny(`station.${kind ?? ''}`, ''),
          station: now.station,
          load,
        })}
      </p>
      {worst !== null && window !== null && (
        <CureBar
          place={worst}
          window={window}
          unit={now.unit}
          token={token}
          dashed={dashed}
          labelled
        />
      )}
      <p class="soft">{facts.join(' · ')}</p>
      <p class="acts-row">
        <a class="button" href={loadAddress(load)}>
          {say('part.load.evidence')}
        </a>
        {recipe !== null && (
          <a class="button" href={`/recipes/${encodeURIComponent(recipe.id)}`}>
            {say('part.load.recipe', { recipe: recipe.id, revision: recipe.revision })}
          </a>
        )}
      </p>
    </>
  );
}

function StepBody({ step }: { step: PartStep }) {
  switch (step.what) {
    case 'load':
      return <LoadOf step={step} />;
    case 'said':
      return <p>{eventText(step.event)}</p>;
    case 'decided': {
      const { decided } = step;
      const waits = decided.needsSecond && decided.seconds === null;
      return (
        <p>
          <b>{say(waits ? 'part.decided.waits' : 'part.decided', decidedValues(decided))}</b>{' '}
          <span class="soft">
            {say('part.decided.by', { by: whoText(decided.by), n: decided.n })}
          </span>
        </p>
      );
    }
    case 'amended': {
      const { load, before, verdict, because, n } = step;
      return (
        <p>
          {say('part.amended', {
            load,
            before: say(`verdict.${before}`),
            verdict: say(`verdict.${verdict}`),
            because: sayAny(`because.${because ?? 'late'}`, because ?? ''),
            n,
          })}
        </p>
      );
    }
  }
}

/** Asked anew when one of its loads begins, ends or is decided. */
function versionOf(lot: string): string {
  const loads = Object.values(live.value.loads).filter((load) => load.lot === lot);
  const told = loads.map(({ load, state, verdict }) => `${load}${state}${verdict}`);
  return `${String(actsDone.value)} ${told.join()}`;
}

/** A part by itself: what may be done with it, and all that it has been through, in order. */
export function PartScreen({ name: lot, second: part }: { name: string; second: string }) {
  const address = `/lots/${encodeURIComponent(lot)}/parts/${encodeURIComponent(part)}`;
  const { value: detail, error } = useAsked<PartDetail>(address, versionOf(lot));
  const toLot = (
    <a class="button no-print" href={`/lots/${encodeURIComponent(lot)}`}>
      {say('part.toLot', { lot })}
    </a>
  );
  if (detail === null) {
    return (
      <section class="section">
        <h1>{say('part.title', { part })}</h1>
        <p>{error === null ? '…' : unansweredText(error, say('part.notKnown', { part, lot }))}</p>
        <p>{toLot}</p>
      </section>
    );
  }
  const { steps, coats } = detail;
  const open = steps.flatMap((step) =>
    step.what === 'load' && step.shown.state === 'open' ? [step.load] : [],
  );
  return (
    <article class="part">
      <section class="sentence">
        <h1>
          {say('part.title', { part })} {say('part.ofLot', { lot })}
        </h1>
        <p role="status">
          <b>{nextText(detail)}</b>
        </p>
        <div class="acts-row no-print">
          {toLot}
          <button class="button" type="button" onClick={() => print()}>
            {say('load.print')}
          </button>
        </div>
      </section>
      <section class="section">
        <h2>{say('part.history')}</h2>
        {detail.isCut && <p>{say('part.cut')}</p>}
        <ol class="part-history">
          {steps.map((step, i) => (
            <li key={i} class={step.what}>
              <span class="part-when num">{at(step.atMs)}</span>
              <div>
                <StepBody step={step} />
              </div>
            </li>
          ))}
        </ol>
      </section>
      {coats.length > 0 && (
        <section class="section">
          <h2>{say('coat.stack')}</h2>
          <p class="soft">{say('coat.how')}</p>
          <CoatStackTable coats={coats} running={open} />
        </section>
      )}
    </article>
  );
}
