import type { FaceCell, HeatUpReport } from '@setwell/shared-models/api/heat-up';
import { say } from '../language.ts';
import { clockFrom, day, number, temperatureText } from '../phrase.ts';
import { rowMs } from '../live.ts';
import { shownDegrees } from '../degrees.ts';
import { faceText } from './words.ts';

function stateText(face: FaceCell): string {
  const { state, sinceMs, silentSinceMs, cycles, baselineSinceMs, baselineCycles } = face;
  if (state === 'silent') {
    return say('heat.state.silent', { clock: clockFrom(silentSinceMs ?? 0, rowMs.value) });
  }
  if (state === 'too-few') {
    return cycles > 0 && baselineSinceMs !== null
      ? say('heat.baseline', { day: day(baselineSinceMs), n: baselineCycles })
      : say('heat.state.too-few', { n: cycles });
  }
  return say(`heat.state.${state}`, { day: sinceMs === null ? '' : day(sinceMs) });
}

/** What a cell says aloud, whole. */
function minutesText({ minutes }: FaceCell): string {
  return minutes === null ? '–' : say('heat.min', { min: number(minutes, 1) });
}

function holdText({ holdC, holdUsual, nowC }: FaceCell): string {
  if (holdC === null)
    return nowC === null ? '' : say('heat.now', { temperature: temperatureText(nowC, 1) });
  const temperature = temperatureText(holdC, 1);
  if (holdUsual === null) return say('heat.holdsAlone', { temperature });
  const [low, high] = [holdUsual.low, holdUsual.high].map((c) => number(shownDegrees(c), 1));
  return say('heat.holds', { temperature, low: low ?? '', high: high ?? '' });
}

function Cell({
  face,
  heated,
  chosen,
  choose,
}: {
  face: FaceCell;
  heated: boolean;
  chosen: boolean;
  choose: () => void;
}) {
  const { minutesUsual: usual, state } = face;
  return (
    <button class={`cell ${state}`} aria-pressed={chosen} onClick={choose}>
      <span class="where">
        {faceText(face)} <small>{face.point}</small>
      </span>
      {heated ? (
        <>
          <b class="num">{minutesText(face)}</b>
          <small class="num">
            {usual === null
              ? say('heat.noUsual')
              : say('heat.usual', { low: number(usual.low, 1), high: number(usual.high, 1) })}
          </small>
        </>
      ) : (
        <b class="num">{face.nowC === null ? '–' : temperatureText(face.nowC, 1)}</b>
      )}
      <small class="num">{holdText(face)}</small>
      <span class="state">{stateText(face)}</span>
    </button>
  );
}

/** The faces as a fitter sees them who stands in front of the press; a press of one chooses it. */
export function Platens({
  report,
  chosen,
  choose,
}: {
  report: HeatUpReport;
  chosen: string | null;
  choose: (point: string) => void;
}) {
  const { faces, readyC } = report;
  const zones = [...new Set(faces.map(({ zone }) => zone))];
  const rows = Math.max(1, ...faces.map(({ row }) => row + 1));
  return (
    <section class="section platens">
      <h2>
        {readyC === null
          ? say('heat.rooms')
          : say('heat.platens', { temperature: temperatureText(readyC, 0) })}
      </h2>
      <div
        class="cells"
        style={{ gridTemplateColumns: `repeat(${Math.min(zones.length, 3)}, minmax(0, 1fr))` }}
      >
        {Array.from({ length: rows }, (_, row) =>
          zones.map((zone) => {
            const face = faces.find((each) => each.zone === zone && each.row === row);
            if (face === undefined)
              return rows > 1 ? <span key={`${zone} ${String(row)}`} /> : null;
            return (
              <Cell
                key={face.point}
                face={face}
                heated={readyC !== null}
                chosen={face.point === chosen}
                choose={() => choose(face.point)}
              />
            );
          }),
        )}
      </div>
      {rows > 1 && <small>{say('heat.stand')}</small>}
    </section>
  );
}
