import { useState } from 'preact/hooks';
import type { LotRetention } from '@setwell/shared-models/record/retention';
import { actsDone } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { say } from '../language.ts';
import { dayOfYear, whoText } from '../phrase.ts';
import { ReasonForm } from '../reason-form.tsx';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';

/** Until when a lot's documents are kept, and the legal hold that keeps them longer. */
export function RetentionPart({ lot }: { lot: string }) {
  const address = `/lots/${encodeURIComponent(lot)}`;
  const { value } = useAsked<LotRetention>(`${address}/retention`, actsDone.value);
  const { sent, send, again } = useSending();
  const [asking, setAsking] = useState(false);
  if (value === null) return null;
  const { hold } = value;
  const word = hold ? 'lift' : 'set';
  return (
    <section class="section">
      <h2>{say('retention.title')}</h2>
      <p>{sentenceOf(value)}</p>
      <p class="soft">{say('retention.what')}</p>
      {asking ? (
        <ReasonForm
          label={say(`retention.${word}.reason`)}
          confirm={say(`retention.${word}`)}
          sending={sent.state === 'sending'}
          cancel={() => setAsking(false)}
          send={(reason) => {
            setAsking(false);
            const path = hold ? `${address}/legal-hold/lift` : `${address}/legal-hold`;
            send(path, { reason }, say(`retention.${word}.done`));
          }}
        />
      ) : (
        <div class="acts-row">
          <button
            class="button"
            type="button"
            onClick={() => {
              again();
              setAsking(true);
            }}
          >
            {say(`retention.${word}`)}
          </button>
        </div>
      )}
      <Told sent={sent} />
    </section>
  );
}

function sentenceOf({ untilMs, hold, dropped }: LotRetention): string {
  const said: string[] = [];
  if (dropped) {
    said.push(say('retention.dropped', { day: dayOfYear(dropped.atMs), n: dropped.n }));
  }
  if (hold) {
    const { by, atMs, reason, n } = hold;
    said.push(say('retention.held', { by: whoText(by), day: dayOfYear(atMs), n, reason }));
  } else if (!dropped && untilMs !== null) {
    said.push(say('retention.until', { day: dayOfYear(untilMs) }));
  }
  return said.join(' ');
}
