import { useState } from 'preact/hooks';
import type { FloorLoad } from '@setwell/shared-models/api/floor';
import type { Decision } from '@setwell/shared-models/record/bodies';
import { nowMs } from '../live.ts';
import { say } from '../language.ts';
import { clockFrom, whoText } from '../phrase.ts';
import { ReasonForm } from '../reason-form.tsx';
import { Choice } from '../screens/choice.tsx';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';

/** What may be decided once a load is out; keeping it closed is for a load that is in. */
const afterwards: Decision[] = ['release', 're-press', 'rework', 'scrap', 'concession'];

type Held = NonNullable<FloorLoad['decisions']['hold']>;

const addressOf = (load: FloorLoad): string =>
  `/loads/${encodeURIComponent(load.load)}/disposition`;

/** Since when nobody may use it, by whom or which rule, and why. */
export function holdText({ rule, by, atMs, reason, parts }: Held, now: number): string {
  const key = rule === null ? 'decide.heldBy' : `decide.heldByRule.${rule}`;
  const values = { by: whoText(by), clock: clockFrom(atMs, now), reason };
  return say(key as 'decide.heldBy', values) + partsText(parts);
}

/** The parts that a decision is about; nothing where it is about all of the load. */
function partsText(parts: readonly string[]): string {
  return parts.length === 0 ? '' : ` (${parts.join(', ')})`;
}

/** What was decided of a load: when, by whom and why. */
export function lastText({ decision, parts, by, atMs, reason }: Held, now: number): string {
  const values = { by: whoText(by), clock: clockFrom(atMs, now), reason };
  return say('decide.last', { ...values, decision: say(`decide.${decision}`) + partsText(parts) });
}

/** Who holds it and why, what was decided, and whether a second person is waited for. */
export function Decided({ load }: { load: FloorLoad }) {
  const { hold, last, waiting, promise, questioned } = load.decisions;
  const lines: string[] = [];
  const now = nowMs.value;
  if (hold !== null) {
    lines.push(holdText(hold, now));
  }
  if (waiting !== null) {
    lines.push(
      say('decide.waiting', {
        decision: say(`decide.${waiting.decision}`) + partsText(waiting.parts),
        by: whoText(waiting.by),
        clock: clockFrom(waiting.atMs, now),
      }),
    );
  }
  if (last !== null) lines.push(lastText(last, now));
  if (questioned) lines.push(say('decide.questioned'));
  if (promise !== null && load.state === 'open') {
    const values = { by: whoText(promise.by), clock: clockFrom(promise.untilMs, now) };
    lines.push(say('decide.promise', values));
  }
  return (
    <>
      {lines.map((line) => (
        <p key={line}>{line}</p>
      ))}
    </>
  );
}

/** Puts all of a load on hold; asks why, and once more. */
export function Hold({ load, close }: { load: FloorLoad; close: () => void }) {
  const { sent, send } = useSending();
  if (sent.state === 'done') return <Told sent={sent} />;
  return (
    <>
      <ReasonForm
        label={say('decide.holdWhy')}
        confirm={say('decide.holdYes', { lot: load.lot })}
        sending={sent.state === 'sending'}
        send={(reason) =>
          send(addressOf(load), { decision: 'hold', reason }, say('decide.done.hold'))
        }
        cancel={close}
      />
      <Told sent={sent} />
    </>
  );
}

/** What happens to a load that is out, on the account that counts now. */
export function Decide({ load, close }: { load: FloorLoad; close: () => void }) {
  const [decision, setDecision] = useState<Decision>('release');
  const { sent, send } = useSending();
  if (sent.state === 'done') return <Told sent={sent} />;
  const isAgainst = load.verdict !== 'in-window';
  const needsTwo = decision === 'concession' || (decision === 'release' && isAgainst);
  return (
    <>
      <ReasonForm
        label={say('decide.why')}
        confirm={say('decide.yes', { decision: say(`decide.${decision}`) })}
        sending={sent.state === 'sending'}
        send={(reason) => {
          const done = say(needsTwo ? 'decide.done.first' : 'decide.done');
          send(addressOf(load), { decision, reason }, done);
        }}
        cancel={close}
      >
        <Choice
          legend={say('decide.what')}
          name="decision"
          options={afterwards.map((each) => ({ value: each, text: say(`decide.${each}`) }))}
          value={[decision]}
          choose={setDecision}
        />
        <p class="soft">
          {say(`decide.means.${decision}` as 'decide.means.release')}{' '}
          {needsTwo ? say('decide.needsTwo') : ''}
        </p>
      </ReasonForm>
      <Told sent={sent} />
    </>
  );
}

/** "I keep it closed until 14:33": the promise that the plan's end is passed over. */
export function KeepClosed({ load, untilMs }: { load: FloorLoad; untilMs: number }) {
  const { sent, send } = useSending();
  const until = clockFrom(untilMs, nowMs.value);
  if (load.decisions.promise !== null && load.decisions.promise.untilMs >= untilMs) return null;
  return (
    <>
      <button
        class="main"
        disabled={sent.state === 'sending'}
        onClick={() =>
          send(
            addressOf(load),
            { decision: 'extend', untilMs, reason: say('decide.keepReason') },
            say('decide.done.extend', { clock: until }),
          )
        }
      >
        {say('decide.keep', { clock: until })}
      </button>
      <Told sent={sent} />
    </>
  );
}
