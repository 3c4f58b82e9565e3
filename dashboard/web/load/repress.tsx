import type { LoadDetail } from '@setwell/shared-models/api/dashboard';
import { say } from '../language.ts';
import { measure, measureHigh, measureLow, placeText, unitText } from '../phrase.ts';

/**
 * Whether what is opened now may be pressed again. A load that is proven needs no second pressing.
 */
export function Repress({ detail: { repress, load } }: { detail: LoadDetail }) {
  if (repress === null || load.verdict === 'in-window') return null;
  const { answer, noReturn, low, high } = repress;
  return (
    <section class="repress">
      <h2>{say(load.state === 'open' ? 'load.repress' : 'load.repress.ended')}</h2>
      <p>
        {say(`load.repress.${answer}`, {
          place: placeText(repress),
          low: measureLow(low, noReturn),
          high: measureHigh(high, noReturn),
          most: measure(noReturn, noReturn),
          unit: unitText(load.unit),
        })}
      </p>
    </section>
  );
}
