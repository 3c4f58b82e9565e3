import type { NewestCheckpoint } from '@setwell/shared-models/api/records';
import { useAsked } from '../asked.ts';
import { rowMs } from '../live.ts';
import { say } from '../language.ts';
import { clockFrom } from '../phrase.ts';
import '../style/print.css';

/**
 * The newest checkpoint, for a sheet that leaves the box: whoever keeps the sheet can show later whether
 * the log before it was changed.
 *
 * @param version asked anew when it changes
 */
export function CheckpointSlip({ version = 0 }: { version?: string | number }) {
  const { value } = useAsked<NewestCheckpoint>('/checkpoint', version);
  if (value === null) return null;
  const { origin, size, root, key, atMs } = value;
  return (
    <section class="part checkpoint-slip">
      <h2>{say('checkpoint.title')}</h2>
      <p class="soft">{say('checkpoint.what')}</p>
      <dl>
        <dt>{say('checkpoint.log')}</dt>
        <dd class="id">{origin}</dd>
        <dt>{say('checkpoint.entries')}</dt>
        <dd class="id">
          {size}, {clockFrom(atMs, rowMs.value)}
        </dd>
        <dt>{say('checkpoint.root')}</dt>
        <dd class="id">{root}</dd>
        <dt>{say('checkpoint.key')}</dt>
        <dd class="id">{key}</dd>
      </dl>
    </section>
  );
}
