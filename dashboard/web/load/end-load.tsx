import { useState } from 'preact/hooks';
import type { FloorLoad } from '@setwell/shared-models/api/floor';
import { say } from '../language.ts';
import { Choice } from '../screens/choice.tsx';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';

const backDates = [0, 1, 2, 5] as const;

/** Ends a load by hand: two presses in two places, and the time it truly came out. */
export function EndLoad({ load }: { load: FloorLoad }) {
  const [asking, setAsking] = useState(false);
  const [ago, setAgo] = useState<number>(0);
  const { sent, send } = useSending();
  // The load may be seen to have ended before the act is answered: what came of it is told all the same.
  if (load.state !== 'open' && sent.state === 'idle') return null;
  if (sent.state === 'done') return <Told sent={sent} />;
  if (!asking) {
    return (
      <div class="acts-row">
        <button onClick={() => setAsking(true)}>{say('load.end')}</button>
      </div>
    );
  }
  const address = `/loads/${encodeURIComponent(load.load)}/end`;
  return (
    <div class="todo">
      <p>{say('load.endAsk', { load: load.load })}</p>
      <Choice
        legend={say('load.endWhen')}
        name="ended-ago"
        options={backDates.map((min) => ({
          value: min as number,
          text: min === 0 ? say('load.endNow') : say('load.endAgo', { min }),
        }))}
        value={[ago]}
        choose={setAgo}
      />
      <div class="acts-row">
        <button onClick={() => setAsking(false)}>{say('load.endNo')}</button>
        <button
          class="main"
          disabled={sent.state === 'sending'}
          onClick={() => send(address, { backDatedMin: ago }, say('load.ended'))}
        >
          {say('load.endYes')}
        </button>
      </div>
      <Told sent={sent} />
    </div>
  );
}
