import type { LoadDetail } from '@setwell/shared-models/api/dashboard';
import type { SeamSide } from '@setwell/shared-models/score/shape';
import { say } from '../language.ts';
import { rowMs } from '../live.ts';
import { clockFrom } from '../phrase.ts';

function sideText(side: SeamSide | null): string {
  if (side === null) return say('seam.nothing');
  const { instrument, certificate } = side;
  const name = instrument ?? say('seam.unnamed');
  return certificate === null ? name : say('seam.certified', { name, certificate });
}

/** Where an instrument was changed while the load was in. */
export function Seams({ detail: { quality } }: { detail: LoadDetail }) {
  const seams = quality?.seams ?? [];
  if (seams.length === 0) return null;
  return (
    <section>
      <h2>{say('load.seams')}</h2>
      <ul class="seams">
        {seams.map(({ point, atMs, before, after }) => (
          <li key={`${point} ${atMs}`}>
            {say('seam.changed', {
              point,
              clock: clockFrom(atMs, rowMs.value),
              before: sideText(before),
              after: sideText(after),
            })}
          </li>
        ))}
      </ul>
    </section>
  );
}
