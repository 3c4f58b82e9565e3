import type { SoakNow, StationSurveys } from '@setwell/shared-models/api/heat-up';
import { gridNamed, type SurveyGrid } from '@setwell/shared-models/condition/survey-figures';
import { useComputed } from '@preact/signals';
import { useState } from 'preact/hooks';
import { useAsked } from '../asked.ts';
import { celsiusOf, degrees, shownDegrees, shownDifference } from '../degrees.ts';
import { Field, TextField } from '../field.tsx';
import { say } from '../language.ts';
import { nowMs, wallNowMs } from '../live.ts';
import { differenceText, differenceUnit, number, signedDifference } from '../phrase.ts';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';
import { headingsOf, SurveyPlan } from './survey-plan.tsx';
import { SurveyMap } from './survey.tsx';

/** Soaks people take [min]: what has been already, or one that begins now. */
const soaks = [0, 30, 60] as const;
const usualToleranceK = 5;
const usualSoakMin = 30;
/** Chosen beforehand; a plate has no more, and a rack is surveyed bay by bay. */
const mostChosen = 12;

interface Goal {
  setPointC: number;
  toleranceK: number;
}

/** Which place has moved most since the soak began: whoever waits sees whether it stands. */
function Still({ figures: { fluctuationK } }: { figures: NonNullable<SoakNow['figures']> }) {
  const [most] = [...fluctuationK].sort((a, b) => b.k - a.k);
  if (most === undefined) return null;
  return <p class="num">{say('survey.still', { point: most.point, k: differenceText(most.k) })}</p>;
}

/** How a soak that began stands, each few seconds. */
function SoakRuns({
  station,
  points,
  fromMs,
  goal,
  grid,
}: {
  station: string;
  points: readonly string[];
  fromMs: number;
  goal: Goal;
  grid: SurveyGrid | null;
}) {
  const turn = useComputed(() => Math.floor(wallNowMs.value / 5_000));
  const query = new URLSearchParams({
    fromMs: String(fromMs),
    points: points.join(','),
    setPointC: String(goal.setPointC),
    toleranceK: String(goal.toleranceK),
  });
  const address = `/surveys/${encodeURIComponent(station)}/soak?${query.toString()}`;
  const { value, error } = useAsked<SoakNow>(address, turn.value);
  if (error !== null) return <p class="refused">{error.message}</p>;
  if (value === null) return <p>…</p>;
  const minutes = Math.max(0, Math.floor((nowMs.value - fromMs) / 60_000));
  return (
    <div role="status">
      <p class="num">{say('survey.runs', { min: minutes, of: usualSoakMin })}</p>
      {value.trouble !== null && <p class="refused">{value.trouble}</p>}
      {value.figures !== null && (
        <>
          <SurveyMap survey={{ figures: value.figures, grid, ...goal }} />
          <Still figures={value.figures} />
          <p class="num">
            {say(value.figures.inside ? 'survey.inside' : 'survey.outside')} ·{' '}
            {say('survey.figures', {
              uniformity: differenceText(value.figures.uniformityK),
              worst: signedDifference(value.figures.worstDeviationK),
              point: value.figures.worst.point,
            })}
          </p>
        </>
      )}
    </div>
  );
}

/**
 * A survey: planned in three fields, run live on the plant's own points or read from a logger's file.
 *
 * Longer than the limit because it is one form: a field after the other, then what they send.
 */
export function SurveyForm({
  known,
  setPointC,
  close,
}: {
  known: StationSurveys;
  setPointC: number | null;
  close: () => void;
}) {
  const [goalC, setGoalC] = useState(setPointC === null ? '' : number(shownDegrees(setPointC), 0));
  const [tolerance, setTolerance] = useState(number(shownDifference(usualToleranceK), 0));
  const [from, setFrom] = useState<'live' | 'file'>('live');
  const [points, setPoints] = useState<string[]>(
    known.points.slice(0, Math.min(known.faces, mostChosen)),
  );
  const [soakMin, setSoakMin] = useState<number>(usualSoakMin);
  const [startedMs, setStartedMs] = useState<number | null>(null);
  const [file, setFile] = useState<{ name: string; text: string } | null>(null);
  const [asShown, setAsShown] = useState(false);
  const [grid, setGrid] = useState(known.faces > mostChosen ? '' : known.grid);
  const [note, setNote] = useState('');
  const { sent, send } = useSending();
  const goal: Goal = {
    setPointC: celsiusOf(Number(goalC.replace(',', '.'))),
    toleranceK: Number(tolerance.replace(',', '.')) / shownDifference(1),
  };
  const runs = from === 'live' && soakMin === 0;
  const chosen = known.points.filter((point) => points.includes(point));
  const submit = () => {
    const toMs = Math.floor(nowMs.value);
    if (runs && startedMs === null) {
      setStartedMs(toMs);
      return;
    }
    const fromMs = startedMs ?? toMs - soakMin * 60_000;
    const soak =
      from === 'live'
        ? { kind: 'live', points: chosen, fromMs, toMs }
        : { kind: 'file', name: file?.name ?? '', text: file?.text ?? '', asShown, atMs: toMs };
    const survey = `V-${String(Math.round(toMs / 60_000))}`;
    const address = `/stations/${encodeURIComponent(known.station)}/surveys`;
    send(address, { survey, ...goal, grid, note, soak }, say('survey.recorded'));
  };
  return (
    <form
      class="reason-form"
      onSubmit={(event) => {
        event.preventDefault();
        submit();
      }}
    >
      <p class="note">{say('survey.safety')}</p>
      <TextField
        label={say('survey.setPoint', { unit: degrees.value })}
        inputMode="decimal"
        required
        value={goalC}
        set={setGoalC}
      />
      <TextField
        label={say('survey.tolerance', { unit: differenceUnit() })}
        inputMode="decimal"
        required
        value={tolerance}
        set={setTolerance}
      />
      <Field label={say('survey.from')}>
        <select
          value={from}
          onChange={(event) => setFrom(event.currentTarget.value as typeof from)}
        >
          <option value="live">{say('survey.from.live')}</option>
          <option value="file">{say('survey.from.file')}</option>
        </select>
      </Field>
      {from === 'live' ? (
        <>
          <fieldset class="field survey-points">
            <legend>{say('survey.points')}</legend>
            {known.points.map((point) => (
              <label key={point} class="check">
                <input
                  type="checkbox"
                  checked={points.includes(point)}
                  onChange={(event) =>
                    setPoints(
                      event.currentTarget.checked
                        ? [...points, point]
                        : points.filter((each) => each !== point),
                    )
                  }
                />
                <span>{point}</span>
              </label>
            ))}
          </fieldset>
          <Field label={say('survey.soakOf')}>
            <select
              value={soakMin}
              disabled={startedMs !== null}
              onChange={(event) => setSoakMin(Number(event.currentTarget.value))}
            >
              {soaks.map((min) => (
                <option key={min} value={min}>
                  {min === 0 ? say('survey.soak.now') : say('survey.soak.last', { min })}
                </option>
              ))}
            </select>
          </Field>
        </>
      ) : (
        <>
          <Field label={say('survey.file')}>
            <input
              type="file"
              accept=".csv,text/csv"
              required
              onChange={(event) => {
                const given = event.currentTarget.files?.[0];
                if (given === undefined) return;
                void given.text().then((text) => setFile({ name: given.name, text }));
              }}
            />
          </Field>
          <label class="check">
            <input
              type="checkbox"
              checked={asShown}
              onChange={(event) => setAsShown(event.currentTarget.checked)}
            />
            <span>{say('survey.asShown')}</span>
          </label>
        </>
      )}
      <TextField
        label={say('survey.grid')}
        value={grid}
        maxLength={12}
        placeholder="3x3"
        set={setGrid}
      />
      <SurveyPlan
        grid={grid}
        points={from === 'live' ? chosen : headingsOf(file?.text ?? '')}
        from={from}
        soakMin={Math.max(soakMin, usualSoakMin)}
        station={known.station}
        goal={goal}
      />
      <TextField label={say('heat.work.note')} value={note} maxLength={1000} set={setNote} />
      {startedMs !== null && sent.state !== 'done' && (
        <SoakRuns
          station={known.station}
          points={chosen}
          fromMs={startedMs}
          goal={goal}
          grid={gridNamed(grid)}
        />
      )}
      <div class="acts-row">
        <button type="button" onClick={close}>
          {say('act.cancel')}
        </button>
        <button class="main" disabled={sent.state === 'sending' || sent.state === 'done'}>
          {say(runs && startedMs === null ? 'survey.begin' : 'survey.record')}
        </button>
      </div>
      <Told sent={sent} />
    </form>
  );
}
