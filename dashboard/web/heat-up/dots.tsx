import type { FaceHistory } from '@setwell/shared-models/api/heat-up';
import { useState } from 'preact/hooks';
import { say, sayAny } from '../language.ts';
import { clockFrom, day, temperatureText } from '../phrase.ts';
import { Drawing, Foot, type Area } from './drawing.tsx';
import { featureText, unitText, valueText } from './words.ts';

function Picture({ history, face }: { history: FaceHistory; face: string }) {
  const { dots, feature } = history;
  const { levels } = rangeOf(history);
  const newest = dots.at(-1);
  const label = say('heat.dots.alt', {
    feature: featureText(feature),
    face,
    n: dots.length,
    value: newest === undefined ? '–' : valueText(feature, newest.value),
    low: valueText(feature, levels[0]),
    high: valueText(feature, levels[1]),
  });
  return (
    <Drawing label={label} heightPx={260} topPx={26}>
      {(area) => <Marks history={history} area={area} />}
    </Drawing>
  );
}

/** What the upright axis spans, and the two values that it names: the usual range, else all there is. */
function rangeOf({ dots, condition }: FaceHistory) {
  const usual = condition?.usual ?? null;
  const values = [...dots.map(({ value }) => value), ...(usual ? [usual.low, usual.high] : [])];
  const least = Math.min(...values);
  const most = Math.max(...values);
  const room = Math.max(1e-3, (most - least) * 0.12);
  const levels: [number, number] = usual ? [usual.low, usual.high] : [least, most];
  return { from: least - room, to: most + room, levels };
}

function Marks({ history, area }: { history: FaceHistory; area: Area }) {
  const { dots, condition, feature, marks } = history;
  const { from, to, levels } = rangeOf(history);
  const fromMs = dots[0]?.atMs ?? 0;
  const toMs = Math.max(fromMs + 1, dots.at(-1)?.atMs ?? 1);
  const x = (ms: number) => area.x((ms - fromMs) / (toMs - fromMs));
  const y = (value: number) => area.y((value - from) / (to - from));
  const [lowY, highY] = [y(levels[0]), y(levels[1])];
  const sinceMs = condition?.sinceMs ?? null;
  const isLate = (ms: number) =>
    condition?.state === 'weakens' && sinceMs !== null && ms >= sinceMs;
  return (
    <>
      {condition?.usual != null && (
        <rect
          class="usual"
          x={area.leftPx}
          width={area.widthPx}
          y={highY}
          height={Math.max(1, lowY - highY)}
        />
      )}
      {levels.map((level, i) => (
        <text
          key={i}
          class="soft"
          x={area.leftPx - 8}
          y={y(level) + (i === 0 ? 14 : 0)}
          text-anchor="end"
        >
          {valueText(feature, level)}
        </text>
      ))}
      <text class="soft" x={4} y={16}>
        {unitText(feature)}
      </text>
      {marks.map(({ atMs, what }) => (
        <g key={atMs}>
          <line class="mark" x1={x(atMs)} x2={x(atMs)} y1={area.y(1)} y2={area.y(0)} />
          <text x={x(atMs)} y={area.y(0) - 4} text-anchor="middle">
            ▲ {sayAny(`heat.work.what.${what}`, what)}
          </text>
        </g>
      ))}
      {sinceMs !== null && (
        <>
          <line class="since" x1={x(sinceMs)} x2={x(sinceMs)} y1={area.y(1)} y2={area.y(0)} />
          <text
            class="strong"
            x={x(sinceMs) + 6}
            y={18}
            text-anchor={x(sinceMs) > area.x(1) - 150 ? 'end' : 'start'}
          >
            {say('heat.dots.since', { day: day(sinceMs) })}
          </text>
        </>
      )}
      {dots.map(({ atMs, value }) => (
        <circle
          key={atMs}
          class={isLate(atMs) ? 'dot late' : 'dot'}
          cx={x(atMs)}
          cy={y(value)}
          r={5.5}
        />
      ))}
      <Foot area={area} words={[fromMs, toMs].map((ms) => ({ x: x(ms), text: day(ms) }))} />
    </>
  );
}

function Table({ history }: { history: FaceHistory }) {
  const { dots, feature } = history;
  return (
    <div class="table-wide tall" tabIndex={0} role="region" aria-label={featureText(feature)}>
      <table>
        <thead>
          <tr>
            <th>{say('heat.col.when')}</th>
            <th class="right">
              {say('heat.col.value')} {unitText(feature)}
            </th>
          </tr>
        </thead>
        <tbody>
          {[...dots].reverse().map(({ atMs, value }) => (
            <tr key={atMs}>
              <td class="id">{clockFrom(atMs, 0)}</td>
              <td class="right">{valueText(feature, value, 1)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** One dot a cycle, over the usual range, with what was done on it. */
export function Dots({ history, face }: { history: FaceHistory; face: string }) {
  const [asTable, setAsTable] = useState(false);
  const { dots, feature, condition } = history;
  return (
    <section class="section dots">
      <div class="picture-head">
        <h2>{say('heat.dots', { feature: featureText(feature) })}</h2>
        {dots.length > 0 && (
          <button class="quiet" aria-pressed={asTable} onClick={() => setAsTable(!asTable)}>
            {say(asTable ? 'heat.asPicture' : 'heat.asTable')}
          </button>
        )}
      </div>
      {dots.length === 0 ? (
        <p>{say('heat.dots.empty')}</p>
      ) : asTable ? (
        <Table history={history} />
      ) : (
        <Picture history={history} face={face} />
      )}
      {condition?.startC != null && (
        <small>
          {say('heat.likeStart', { temperature: temperatureText(condition.startC, 0) })}
        </small>
      )}
    </section>
  );
}
