import type { FaceHistory } from '@setwell/shared-models/api/heat-up';
import { useState } from 'preact/hooks';
import { say, sayAny } from '../language.ts';
import { clockFrom, day, temperatureText } from '../phrase.ts';
import { useWidth } from '../width.ts';
import { featureText, unitText, valueText } from './words.ts';

const heightPx = 260;
const leftPx = 64;
const rightPx = 16;
const footPx = 30;
const headPx = 26;

function Picture({ history, face }: { history: FaceHistory; face: string }) {
  // Longer than the limit because it is one drawing: scales, then every mark of it in order.
  const [ref, widthPx] = useWidth();
  const { dots, condition, feature, marks } = history;
  const usual = condition?.usual ?? null;
  const values = [...dots.map(({ value }) => value), ...(usual ? [usual.low, usual.high] : [])];
  const least = Math.min(...values);
  const most = Math.max(...values);
  const room = Math.max(1e-3, (most - least) * 0.12);
  const fromMs = dots[0]?.atMs ?? 0;
  const toMs = Math.max(fromMs + 1, dots.at(-1)?.atMs ?? 1);
  const x = (ms: number) =>
    leftPx + ((ms - fromMs) / (toMs - fromMs)) * (widthPx - leftPx - rightPx);
  const y = (value: number) =>
    headPx +
    (1 - (value - least + room) / (most - least + 2 * room)) * (heightPx - footPx - headPx);
  const levels = usual ? [usual.low, usual.high] : [least, most];
  const sinceMs = condition?.sinceMs ?? null;
  const weakens = condition?.state === 'weakens';
  const newest = dots.at(-1);
  const range = (at: 0 | 1) => valueText(feature, levels[at] ?? 0);
  return (
    <div ref={ref}>
      <svg
        viewBox={`0 0 ${widthPx} ${heightPx}`}
        width={widthPx}
        height={heightPx}
        role="img"
        aria-label={say('heat.dots.alt', {
          feature: featureText(feature),
          face,
          n: dots.length,
          value: newest === undefined ? '–' : valueText(feature, newest.value),
          low: range(0),
          high: range(1),
        })}
      >
        {usual !== null && (
          <rect
            class="usual"
            x={leftPx}
            width={widthPx - leftPx - rightPx}
            y={y(usual.high)}
            height={Math.max(1, y(usual.low) - y(usual.high))}
          />
        )}
        {levels.map((level, i) => (
          <text
            key={i}
            class="soft"
            x={leftPx - 8}
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
            <line class="mark" x1={x(atMs)} x2={x(atMs)} y1={headPx} y2={heightPx - footPx} />
            <text x={x(atMs)} y={heightPx - footPx - 4} text-anchor="middle">
              ▲ {sayAny(`heat.work.what.${what}`, what)}
            </text>
          </g>
        ))}
        {sinceMs !== null && (
          <>
            <line
              class="since"
              x1={x(sinceMs)}
              x2={x(sinceMs)}
              y1={headPx}
              y2={heightPx - footPx}
            />
            <text
              class="strong"
              x={x(sinceMs) + 6}
              y={18}
              text-anchor={x(sinceMs) > widthPx - 160 ? 'end' : 'start'}
            >
              {say('heat.dots.since', { day: day(sinceMs) })}
            </text>
          </>
        )}
        {dots.map(({ atMs, value }) => (
          <circle
            key={atMs}
            class={weakens && sinceMs !== null && atMs >= sinceMs ? 'dot late' : 'dot'}
            cx={x(atMs)}
            cy={y(value)}
            r={5.5}
          />
        ))}
        <text class="soft" x={leftPx} y={heightPx - 6}>
          {day(fromMs)}
        </text>
        <text class="soft" x={widthPx - rightPx} y={heightPx - 6} text-anchor="end">
          {day(toMs)}
        </text>
      </svg>
    </div>
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
