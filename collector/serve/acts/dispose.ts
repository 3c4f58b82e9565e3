import type { Disposition } from '@setwell/shared-models/record/bodies';
import { isOfSameParts } from '@setwell/shared-models/record/decisions';
import type { Entry } from '@setwell/shared-models/record/entry';
import type { ScoreResult } from '@setwell/shared-models/score/shape';
import { z } from 'zod';
import type { GivenAct } from './act.ts';
import { aboutKnown, loadOf, type KnownLoad } from './known-load.ts';
import { recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed, refused } from './refused.ts';

const name = z.string().min(1).max(120);
const dispositionSchema = z.strictObject({
  decision: z.enum(['hold', 'release', 'extend', 're-press', 'rework', 'scrap', 'concession']),
  reason: z.string().min(1).max(1000),
  onRevision: z.number().int().positive().nullable().default(null),
  parts: z.array(name).max(1000).default([]),
  untilMs: z.number().int().nullable().default(null),
});

type Asked = z.infer<typeof dispositionSchema>;

/** Nobody promises for longer than this [ms]. */
const mostExtendedMs = 24 * 3_600_000;

/**
 * What people decide of a load, on the account that counts now.
 *
 * @throws ActRefused 409 where there is a newer account than the one it was decided on; 422 where the
 *   recipe, the load's state or the rule of two people stands against it
 */
export function dispose(act: GivenAct, parts: RecordedActParts): Entry {
  const load = loadOf(act, parts.fold);
  const asked = parsed(dispositionSchema, act.body);
  checkRevision(asked, load);
  checkParts(asked, load);
  checkState(asked, load, parts);
  const needsSecond = needsTwo(asked, load);
  const first = needsSecond ? firstOf(asked, load, act) : null;
  const body: Disposition = { ...asked, rule: null, needsSecond, seconds: first?.n ?? null };
  const on = first ? { n: first.n } : act.on;
  return recorded(on ? { ...act, on } : act, parts, aboutKnown(load), body);
}

/** A decision is taken on what is known; a newer account asks for a newer look. */
function checkRevision({ onRevision }: Asked, { sealed }: KnownLoad): void {
  const newest = sealed?.revision ?? null;
  if (onRevision === newest) return;
  const found = onRevision === null ? 'none' : String(onRevision);
  if (newest === null) throw refused('body.onRevision', found, 'none: nothing is sealed yet');
  const moved = onRevision !== null && onRevision < newest;
  throw refused(
    'body.onRevision',
    found,
    `the account that counts: ${String(newest)}`,
    moved ? 'moved-on' : 'bad-input',
    moved ? 409 : 422,
  );
}

function checkParts({ parts }: Asked, { parts: known }: KnownLoad): void {
  const strange = parts.find((part) => !known.includes(part));
  if (strange !== undefined) throw refused('body.parts', strange, 'parts of the load');
}

function checkState(asked: Asked, load: KnownLoad, parts: RecordedActParts): void {
  const { decision } = asked;
  if (decision === 'extend') {
    checkExtension(asked, load, parts);
    return;
  }
  if (asked.untilMs !== null) {
    throw refused('body.untilMs', String(asked.untilMs), 'none: only an extension has an end');
  }
  if (decision === 'hold') return;
  if (load.state === 'open') {
    throw refused('body.decision', decision, 'a hold or an extension while the load is in', 'open');
  }
  if (!load.sealed && decision !== 'scrap') {
    throw refused('body.decision', decision, 'to wait for the sealed account', 'not-sealed');
  }
  if (decision === 're-press') checkRepress(load, parts);
}

/** Only while pressure was never let off: a line that was opened is not the line that was pressed. */
function checkExtension(asked: Asked, load: KnownLoad, { clock, isReleased }: RecordedActParts) {
  if (load.state !== 'open' || isReleased(load.load)) {
    const expected = 'a load whose pressure was never let off';
    throw refused('body.decision', 'extend', expected, 'released');
  }
  const leftMs = asked.untilMs === null ? NaN : asked.untilMs - clock.nowMs();
  if (!(leftMs > 0 && leftMs <= mostExtendedMs)) {
    const found = asked.untilMs === null ? 'none' : new Date(asked.untilMs).toISOString();
    throw refused('body.untilMs', found, 'later than now, and within 24 h');
  }
}

/** Only if no line can have passed the bound beyond which an opened line is not pressed again. */
function checkRepress({ sealed }: KnownLoad, { ledger }: RecordedActParts): void {
  const bytes = sealed ? ledger.blob(sealed.result.sha256) : null;
  const result = bytes ? (JSON.parse(bytes.toString('utf8')) as ScoreResult) : null;
  const repress = result?.repress ?? null;
  if (repress?.answer === 'allowed') return;
  const expected = 'a load that no line of which may have passed noReturn';
  if (!repress) throw refused('body.decision', 'the recipe has no noReturn', expected, 'no-return');
  const { zone, glueLine, high, noReturn } = repress;
  const line = glueLine === null ? zone : `${zone}, glue line ${String(glueLine)}`;
  const found = `${line}: up to ${high.toFixed(2)} of ${String(noReturn)}`;
  throw refused('body.decision', found, expected, 'no-return');
}

/** Letting go what heat has not proven is nobody's decision alone. */
function needsTwo({ decision }: Asked, { sealed }: KnownLoad): boolean {
  return decision === 'concession' || (decision === 'release' && sealed?.verdict !== 'in-window');
}

/** The first person's decision, where this is the second's. @throws ActRefused where it is one person's */
function firstOf(asked: Asked, { decisions }: KnownLoad, { by }: GivenAct) {
  const { waiting } = decisions;
  if (waiting?.decision !== asked.decision || waiting.onRevision !== asked.onRevision) return null;
  if (!isOfSameParts(waiting.parts, asked.parts)) return null;
  if (waiting.by === by) {
    throw refused('by', by, 'another person: two must agree', 'second-person');
  }
  return waiting;
}
