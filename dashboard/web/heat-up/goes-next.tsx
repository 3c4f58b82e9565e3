import type { GoesNext, HeatUpReport } from '@setwell/shared-models/api/heat-up';
import { useState } from 'preact/hooks';
import { say } from '../language.ts';
import { day, number } from '../phrase.ts';
import { changeText, changeUnit, faceOf, featureText } from './words.ts';
import { WorkForm } from './work.tsx';

/** +1.1 min a week (0.7 to 1.5; 22 cycles since 3 Feb): a slope with its interval and count. */
function trendText({ condition }: GoesNext): string {
  const { feature, trend, sinceMs, baselineSinceMs } = condition;
  if (trend === null) return featureText(feature);
  return say('heat.next.trend', {
    feature: featureText(feature),
    slope: `${changeText(feature, trend.perWeek)} ${changeUnit(feature)}`,
    low: changeText(feature, trend.lowPerWeek),
    high: changeText(feature, trend.highPerWeek),
    n: trend.cycles,
    day: day(sinceMs ?? baselineSinceMs),
  });
}

function costText({ cost, condition }: GoesNext): string | null {
  if (cost === null) return null;
  const values = { min: number(cost.plannedMin, 0), recipe: cost.recipe };
  const { outlook } = cost;
  if (outlook === null) return say('heat.next.costNone', values);
  if (outlook.atMs <= (condition.newest?.atMs ?? 0)) return say('heat.next.costNow', values);
  const when = { ...values, day: day(outlook.atMs), from: day(outlook.earliestMs) };
  return outlook.latestMs === null
    ? say('heat.next.costOpen', when)
    : say('heat.next.cost', { ...when, to: day(outlook.latestMs) });
}

/** What goes next, what it costs, and where to look first. */
export function GoesNextBox({ report }: { report: HeatUpReport }) {
  const [open, setOpen] = useState<'plan' | 'done' | null>(null);
  const { goesNext, causes, faces } = report;
  const cost = goesNext === null ? null : costText(goesNext);
  const named = (points: readonly string[]) => points.map((p) => faceOf(p, faces)).join(', ');
  return (
    <section class="section goes-next">
      <h2>
        {goesNext === null
          ? say('heat.next.none')
          : say('heat.next', { face: faceOf(goesNext.point, faces) })}
      </h2>
      {goesNext !== null && <p class="num">{trendText(goesNext)}</p>}
      {cost !== null && <p>{cost}</p>}
      {causes.length > 0 && (
        <>
          <h3>{say('heat.causes')}</h3>
          <ol>
            {causes.slice(0, 3).map((hint) => (
              <li key={`${hint.cause} ${hint.points.join()}`}>
                {say(`heat.cause.${hint.cause}`, { faces: named(hint.points) })}{' '}
                <small>
                  {say('heat.evidence', {
                    features: [
                      ...new Set(hint.evidence.map((each) => featureText(each.feature))),
                    ].join(', '),
                  })}
                </small>
              </li>
            ))}
          </ol>
          <small>{say('heat.causes.hint')}</small>
        </>
      )}
      {open === null ? (
        <div class="acts-row no-print">
          <button class="main" onClick={() => setOpen('plan')}>
            {say('heat.work.plan')}
          </button>
          <button onClick={() => setOpen('done')}>{say('heat.work.done')}</button>
        </div>
      ) : (
        <WorkForm
          key={open}
          report={report}
          mode={open}
          work={null}
          point={goesNext?.point ?? null}
          because={goesNext === null ? '' : trendText(goesNext)}
          close={() => setOpen(null)}
        />
      )}
    </section>
  );
}
