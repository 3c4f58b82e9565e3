import type { BudgetRow } from '@setwell/shared-models/score/shape';
import { say } from '../language.ts';
import { number, unitText } from '../phrase.ts';

/** Smaller doubts than this share of the whole are in the table, not in the bar. */
const leastShare = 0.02;

/** One bar, cut into what makes the interval wide: the part to work on is the longest. */
export function WhyWide({ budget }: { budget: BudgetRow[] }) {
  const rows = [...budget].sort((a, b) => b.down - a.down);
  const total = rows.reduce((sum, { down }) => sum + down, 0);
  if (total <= 0) return null;
  const unit = rows[0]?.unit ?? 'min';
  return (
    <section>
      <h2>{say('load.wide')}</h2>
      <div class="wide-bar" aria-hidden="true">
        {rows
          .filter(({ down }) => down / total >= leastShare)
          .map(({ term, down }) => (
            <span key={term} style={{ flexGrow: down / total }} />
          ))}
      </div>
      <p class="soft">{say('load.wideMore', { unit: unitText(unit, true) })}</p>
      <table>
        <thead>
          <tr>
            <th>{say('load.wide.term')}</th>
            <th class="right">{say('load.wide.down')}</th>
            <th class="right">{say('load.wide.up')}</th>
          </tr>
        </thead>
        <tbody>
          {rows.map(({ term, down, up }) => (
            <tr key={term}>
              <td>{say(`load.term.${term}`)}</td>
              <td class="right">{number(-down, 2)}</td>
              <td class="right">
                {up < 0.005 ? '' : '+'}
                {number(up, 2)}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
