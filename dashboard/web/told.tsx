import type { Sent } from './sent.ts';

/** What became of an act, where it was done; spoken, since nothing else on the page may change. */
export function Told({ sent }: { sent: Sent }) {
  return (
    <div role="status">
      {sent.state === 'done' && <p class="note told">{sent.text}</p>}
      {sent.state === 'refused' && <p class="refused">{sent.text}</p>}
    </div>
  );
}
