import type { Call } from '@setwell/shared-models/call/call';
import type { About, Entry } from '@setwell/shared-models/record/entry';
import { z } from 'zod';
import type { GivenAct } from './act.ts';
import { recorded, type RecordedActParts } from './recorded-act.ts';
import { parsed, refused } from './refused.ts';

const note = z.string().max(500).nullable().default(null);
const noteSchema = z.strictObject({ note });
const voidedSchema = z.strictObject({ reason: z.string().min(1).max(500) });
const shelvedSchema = z.strictObject({
  reason: z.string().min(1).max(500),
  untilMs: z.number().int(),
});

/** Nobody puts a call aside for longer than this: it would be forgotten [ms]. */
const mostShelvedMs = 24 * 3_600_000;

/** Somebody has taken a call. @throws ActRefused */
export function acknowledge(act: GivenAct, parts: RecordedActParts): Entry {
  const call = calledBy(act, parts);
  if (call.acknowledged) throw movedOn(call, call.acknowledged.n, 'nobody has it yet');
  return answered(act, parts, call, parsed(noteSchema, act.body));
}

/** Somebody puts a call aside, with a reason and an end. @throws ActRefused */
export function shelve(act: GivenAct, parts: RecordedActParts): Entry {
  const call = calledBy(act, parts);
  if (call.shelved) throw movedOn(call, call.shelved.n, 'not put aside yet');
  const body = parsed(shelvedSchema, act.body);
  const leftMs = body.untilMs - parts.clock.nowMs();
  if (leftMs <= 0 || leftMs > mostShelvedMs) {
    const found = new Date(body.untilMs).toISOString();
    throw refused('body.untilMs', found, 'later than now, and within 24 h');
  }
  return answered(act, parts, call, body);
}

/** Somebody takes a call back onto the list. @throws ActRefused */
export function unshelve(act: GivenAct, parts: RecordedActParts): Entry {
  const call = calledBy(act, parts);
  if (!call.shelved)
    throw refused('about.call', call.id, 'a call that is put aside', 'not-shelved');
  const body = parsed(noteSchema, act.body);
  return answered(act, parts, call, { because: 'act', ...body });
}

/** Somebody says of a closing that nobody has named that it held nothing. @throws ActRefused */
export function voidClosing(act: GivenAct, parts: RecordedActParts): Entry {
  const call = calledBy(act, parts);
  const { kind, values } = call.raised;
  const foundMs = values['foundMs'];
  if (kind !== 'closing-unnamed' || typeof foundMs !== 'number') {
    throw refused('about.call', call.id, 'a closing without a name', 'not-a-closing');
  }
  return answered(act, parts, call, { foundMs, ...parsed(voidedSchema, act.body) });
}

/** The call that an act is about, as it stands. @throws ActRefused where it is not up any more */
function calledBy(act: GivenAct, { fold, ledger }: RecordedActParts): Call {
  const { call: id } = act.about;
  if (id === undefined) throw refused('about.call', 'none', 'the call');
  const call = fold.calls.get(id);
  if (!call) {
    const known = act.on === undefined ? null : ledger.entry(act.on.n);
    if (known?.about.call === id) {
      throw refused('about.call', id, 'a call that is up', 'moved-on', 409);
    }
    throw refused('about.call', id, 'a call that is up', 'unknown-call');
  }
  const { n } = act.on ?? call;
  if (n < call.n || n > call.lastN || ledger.entry(n)?.about.call !== id) {
    throw refused('on.n', `entry ${String(n)}`, `an entry of ${id}, from ${String(call.n)} on`);
  }
  return call;
}

function movedOn({ id }: Call, n: number, expected: string) {
  return refused('on.n', `entry ${String(n)} has answered ${id}`, expected, 'moved-on', 409);
}

function answered(act: GivenAct, parts: RecordedActParts, call: Call, body: object): Entry {
  const { station, load, point } = call.raised;
  const about: About = {
    call: call.id,
    ...(station === null ? {} : { station }),
    ...(load === null ? {} : { load }),
    ...(point === null ? {} : { sensor: point }),
  };
  return recorded({ ...act, on: act.on ?? { n: call.n } }, parts, about, body);
}
