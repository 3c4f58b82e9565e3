import type { CoatShown } from '@setwell/shared-models/record/coat-shown';
import { verdictToken } from '@setwell/shared-models/api/floor';
import { say } from '../language.ts';
import { measure, unitText } from '../phrase.ts';
import { CureBar } from './cure-bar.tsx';
import { Sign } from './sign.tsx';

/** What is not in its window, in a line: that it never had its bake, or what its own bake gave. */
function stepText({ load, step, unit, unjudged, endMs }: CoatShown): string {
  const { window } = step;
  if (unjudged !== undefined) return say('coat.unjudged', { loads: unjudged.join(', ') });
  if (load === null) return say(endMs === null ? 'coat.missedNow' : 'coat.missed');
  const values = {
    low: measure(step.low, window.least),
    high: measure(step.high, window.least),
    unit: unitText(unit),
    load,
  };
  return say('coat.step', values);
}

/**
 * Up to where its own bake brought a coat: what is above it has had all bakes but that one. Null: none
 * has come after it.
 */
function laterFrom(coat: CoatShown, above: CoatShown | undefined): number | null {
  if (coat.load === null) return 0;
  if (above === undefined) return null;
  const own = coat.sum.low - above.sum.low;
  return above.unit === coat.unit && own > 0 ? own : coat.step.low;
}

function liesOn(above: CoatShown, { coat, parts }: CoatShown): boolean {
  const isOfAll = above.parts === undefined || above.parts.join() === parts?.join();
  return above.coat === coat + 1 && isOfAll;
}

function Coat({
  coat,
  above,
  running,
}: {
  coat: CoatShown;
  above: CoatShown | undefined;
  running: boolean;
}) {
  const { total, step, sum, verdict, unit } = coat;
  const token = running ? verdictToken({ verdict, side: step.side, state: 'open' }) : verdict;
  const name = say('coat.name', { n: coat.coat });
  return (
    <tr>
      <th scope="row">{name}</th>
      <td>
        <CureBar
          place={{ ...sum, zone: '', glueLine: null }}
          window={total?.window ?? step.window}
          unit={unit}
          token={token}
          name={name}
          laterFrom={laterFrom(coat, above)}
          dashed={coat.unjudged !== undefined}
        />
      </td>
      <td>
        <span class="coat-verdict">
          <Sign token={token} />
          <b>{say(`verdict.${token}`)}</b>
        </span>
        <small>{stepText(coat)}</small>
      </td>
    </tr>
  );
}

/** Coats as they lie, top one first: all bakes of each against what it stands, its own bake in words. */
export function CoatStackTable({
  coats,
  running = [],
}: {
  coats: readonly CoatShown[];
  /** Loads that have not ended: their own coat is not done yet. */
  running?: readonly string[];
}) {
  return (
    <table class="coats">
      <tbody>
        {[...coats].reverse().map((coat) => (
          <Coat
            key={`${coat.coat} ${coat.parts?.join() ?? ''}`}
            coat={coat}
            above={coats.find((each) => liesOn(each, coat))}
            running={coat.load !== null && running.includes(coat.load)}
          />
        ))}
      </tbody>
    </table>
  );
}
