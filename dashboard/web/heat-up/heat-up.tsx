import './heat-up.css';
import type {
  FaceHistory,
  HeatedNow,
  HeatUpReport,
  StationHeat,
} from '@setwell/shared-models/api/heat-up';
import type { FeatureName } from '@setwell/shared-models/condition/feature';
import { useComputed } from '@preact/signals';
import { useState } from 'preact/hooks';
import { useAsked } from '../asked.ts';
import { say, sayAny } from '../language.ts';
import { nowMs, wallNowMs } from '../live.ts';
import { clock, clockFrom, clockUp, dateText, day, number, temperatureText } from '../phrase.ts';
import { Curve } from './curve.tsx';
import { Dots } from './dots.tsx';
import { GoesNextBox } from './goes-next.tsx';
import { Platens } from './platens.tsx';
import { faceFirst, faceOf, featureText, unitText, valueText } from './words.ts';
import { Proposals } from './proposals.tsx';
import { Recovery } from './recovery.tsx';
import { Surveys } from './survey.tsx';
import { WorkJobs } from './work.tsx';

/** Stations are asked anew so often [ms]: a heat-up moves by the minute. */
const everyMs = 5_000;
/** A difference that nobody plans by is no difference [min]. */
const asUsualMin = 2;
const leastUsual = 10;

const shownFeatures: FeatureName[] = [
  'minutes-to-ready',
  'hold-level',
  'recovery',
  'rate-at-100',
  'overshoot',
  'dip-depth',
  'idle-loss',
  'open-circuits',
];
/** Of a charge, not of a heat-up: its own curve is drawn. */
const ofCharges: FeatureName[] = ['recovery', 'dip-depth'];
const roomFeatures: FeatureName[] = ['day-level', 'day-swing'];

/** Words for a ready time beside the usual one. */
function besideUsual(readyMs: number, usuallyReadyMs: number) {
  const laterMin = Math.round((readyMs - usuallyReadyMs) / 60_000);
  const than = Math.abs(laterMin) < asUsualMin ? 'Usual' : laterMin > 0 ? 'Later' : 'Earlier';
  return { than, min: Math.abs(laterMin) } as const;
}

function heatingText({ usuallyReadyMs, expectedReadyMs, share }: HeatedNow, atMs: number): string {
  const percent = Math.round(100 * (share ?? 0));
  if (expectedReadyMs !== null) {
    const values = { clock: clockUp(expectedReadyMs, atMs), percent };
    if (usuallyReadyMs === null) return say('heat.expected', values);
    const { than, min } = besideUsual(expectedReadyMs, usuallyReadyMs);
    return say(`heat.expected${than}`, { ...values, min });
  }
  return usuallyReadyMs === null
    ? say('heat.heating', { percent })
    : say('heat.heatingUsual', { percent, clock: clock(usuallyReadyMs) });
}

/** When it is, will be or was ready, in one sentence; the clock first. */
function readyText({ newest, readyC, kind, nowMs: atMs }: HeatUpReport): string {
  if (readyC === null) {
    return say(kind === 'press' || kind === 'oven' ? 'heat.noReadyC' : 'heat.unheated');
  }
  const { startMs, readyMs, usuallyReadyMs, interrupted } = newest;
  if (startMs === null) return say('heat.none');
  if (interrupted !== null) {
    return say('heat.interrupted', { because: sayAny(`heat.because.${interrupted}`, interrupted) });
  }
  if (readyMs === null) return heatingText(newest, atMs);
  if (usuallyReadyMs === null) return say('heat.readyAlone', { clock: clock(readyMs) });
  const { than, min } = besideUsual(readyMs, usuallyReadyMs);
  return say(`heat.ready${than}`, { clock: clock(readyMs), min });
}

/** The slow one, and the one that weakens. */
function behindText(report: HeatUpReport): string {
  const { newest, faces } = report;
  const weak = faces.find(({ state }) => state === 'weakens');
  const words: string[] = [];
  if (newest.lastPoint !== null) {
    const key = newest.readyMs === null ? 'heat.lastHeating' : 'heat.last';
    words.push(say(key, { face: faceFirst(newest.lastPoint, faces) }));
  }
  if (weak?.because != null && weak.sinceMs !== null) {
    const face = faceFirst(weak.point, faces);
    words.push(
      say('heat.weakens', { face, day: day(weak.sinceMs), feature: featureText(weak.because) }),
    );
  }
  return words.join(' ');
}

function Sentence({ report }: { report: HeatUpReport }) {
  const { newest, title, heatUps, readyC, readUpTo } = report;
  const { startMs, startC } = newest;
  const today = startMs !== null && day(startMs) === day(report.nowMs);
  return (
    <div class="sentence">
      {startMs !== null && (
        <p class={today ? '' : 'not-today'}>
          {!today && <>{say('heat.notToday')} </>}
          {say('heat.start', {
            station: title,
            day: day(startMs),
            clock: clock(startMs),
            temperature: temperatureText(startC ?? 0, 0),
          })}
        </p>
      )}
      <p role="status">
        <b>{readyText(report)}</b> {behindText(report)}
      </p>
      {readyC !== null && heatUps < leastUsual && <p>{say('heat.few', { n: heatUps })}</p>}
      {readUpTo < 0.999 && <p>{say('heat.reading', { percent: Math.floor(100 * readUpTo) })}</p>}
    </div>
  );
}

function lineText({ readyMs, expectedReadyMs, share, interrupted }: HeatedNow): string {
  if (interrupted !== null) return say('heat.lineInterrupted');
  if (readyMs !== null) return say('heat.ready', { clock: clockFrom(readyMs, nowMs.value) });
  if (expectedReadyMs !== null) {
    return say('slot.ready', { clock: clockUp(expectedReadyMs, nowMs.value) });
  }
  return share === null ? '–' : `${number(100 * share, 0)} %`;
}

/** One line a station, so that a hall sees what it waits for: its clock, and the way it has to go. */
function StationLines({ lines, chosen }: { lines: StationHeat[]; chosen: string }) {
  return (
    <nav class="station-lines" aria-label={say('heat.stations')}>
      {lines.map(({ station, readyC, heating, worst }) => (
        <a
          key={station}
          href={`/heat-up/${station}`}
          aria-current={station === chosen ? 'page' : undefined}
          class={worst === 'weakens' ? 'weak' : ''}
        >
          <b class="id">{station}</b>
          <span class="num">{readyC === null ? '–' : lineText(heating)}</span>
          {readyC !== null && (
            <span class="way" aria-hidden="true">
              <span
                style={{ width: `${100 * (heating.readyMs !== null ? 1 : (heating.share ?? 0))}%` }}
              />
            </span>
          )}
        </a>
      ))}
    </nav>
  );
}

function Figures({ report }: { report: HeatUpReport }) {
  const { figures } = report;
  if (figures.length === 0) return null;
  return (
    <section class="section">
      <h2>{say('heat.figures')}</h2>
      <ul class="figures num">
        {figures.map(({ feature, point, newest, usual, state }) => (
          <li key={`${feature} ${point}`}>
            {featureText(feature)} {point === report.station ? '' : point}{' '}
            <b>
              {newest === null ? '–' : `${valueText(feature, newest.value)} ${unitText(feature)}`}
            </b>{' '}
            <small>
              {usual === null
                ? say('heat.noUsual')
                : say('heat.usual', {
                    low: valueText(feature, usual.low),
                    high: valueText(feature, usual.high),
                  })}
              {state === 'weakens' ? ' ▲' : ''}
            </small>
          </li>
        ))}
      </ul>
    </section>
  );
}

/** What else the stop has to know: certificates, heat-ups that do not count, closings, proposed limits. */
function Lists({ report }: { report: HeatUpReport }) {
  const { due, excluded, closings, faces } = report;
  return (
    <>
      {due.length > 0 && (
        <section class="section">
          <h2>{say('heat.due')}</h2>
          {due.map(({ point, certificate, due: ends }) => (
            <p key={point}>{say('heat.due.line', { point, certificate, day: dateText(ends) })}</p>
          ))}
        </section>
      )}
      {excluded.length > 0 && (
        <section class="section">
          <h2>{say('heat.excluded')}</h2>
          {excluded.map(({ point, startMs, because }) => (
            <p key={`${point} ${String(startMs)}`}>
              {faceOf(point, faces)} · {clockFrom(startMs, 0)} ·{' '}
              {sayAny(`heat.because.${because}`, because)}
            </p>
          ))}
        </section>
      )}
      {closings.length > 0 && (
        <section class="section no-print">
          <h2>{say('heat.closings')}</h2>
          {closings.slice(0, 6).map(({ startMs, endMs, foundBy }) => (
            <p key={startMs} class="num">
              {say(endMs === null ? 'heat.closings.open' : 'heat.closings.line', {
                day: day(startMs),
                from: clock(startMs),
                to: endMs === null ? '' : clock(endMs),
                by: sayAny(`heat.by.${foundBy}`, foundBy),
              })}
            </p>
          ))}
        </section>
      )}
    </>
  );
}

/** One face: today over its past, and one dot a cycle of the feature that is looked at. */
function Face({ report, point, turn }: { report: HeatUpReport; point: string; turn: number }) {
  const all = report.readyC === null ? roomFeatures : shownFeatures;
  const weak = report.faces.find((face) => face.point === point)?.because ?? null;
  const [chosen, setChosen] = useState<FeatureName | null>(null);
  const feature = chosen ?? (weak !== null && all.includes(weak) ? weak : (all[0] ?? 'day-level'));
  const address = `/heat-ups/${report.station}/${point}?feature=${feature}`;
  const { value: history, error } = useAsked<FaceHistory>(address, turn);
  const face = faceFirst(point, report.faces);
  return (
    <div class="face">
      {error !== null && <p class="refused">{error.message}</p>}
      {history !== null && ofCharges.includes(feature) && (
        <Recovery history={history} face={face} />
      )}
      {history !== null && !ofCharges.includes(feature) && report.readyC !== null && (
        <Curve history={history} face={face} />
      )}
      <div class="choices no-print" role="group" aria-label={say('heat.dots', { feature: face })}>
        {all.map((each) => (
          <button key={each} aria-pressed={each === feature} onClick={() => setChosen(each)}>
            {featureText(each)}
          </button>
        ))}
      </div>
      {history === null ? <p>…</p> : <Dots history={history} face={face} />}
    </div>
  );
}

function Report({ station, turn }: { station: string; turn: number }) {
  const { value: report, error } = useAsked<HeatUpReport>(`/heat-ups/${station}`, turn);
  const [asked, setAsked] = useState<string | null>(null);
  if (report === null)
    return <p class="pad">{error === null ? say('heat.fetching') : error.message}</p>;
  const known = report.faces.some((face) => face.point === asked);
  const point =
    (known ? asked : null) ??
    report.goesNext?.point ??
    report.newest.lastPoint ??
    report.faces[0]?.point ??
    null;
  return (
    <>
      {error !== null && <p class="refused">{error.message}</p>}
      <Sentence report={report} />
      <div class="heat-cols">
        <div>
          <Platens report={report} chosen={point} choose={setAsked} />
          <GoesNextBox report={report} />
          <div class="note">
            <p>{say('heat.lockout')}</p>
          </div>
          <button class="no-print" onClick={() => print()}>
            {say('heat.print')}
          </button>
        </div>
        <div>
          {point !== null && <Face key={point} report={report} point={point} turn={turn} />}
          <div class="heat-lists">
            <Figures report={report} />
            <WorkJobs report={report} />
            <Surveys station={report.station} turn={turn} />
            <Proposals report={report} />
            <Lists report={report} />
          </div>
        </div>
      </div>
    </>
  );
}

/** When is it ready, which zone weakens, what goes next; and the work that proves a repair. */
export function HeatUpScreen({ name }: { name: string }) {
  const turn = useComputed(() => Math.floor(wallNowMs.value / everyMs));
  const { value, error } = useAsked<{ stations: StationHeat[] }>('/heat-ups', turn.value);
  const lines = value?.stations ?? [];
  const first = lines.find(({ worst }) => worst === 'weakens') ?? lines[0];
  const station = name === '' ? (first?.station ?? null) : name;
  return (
    <div class="heat">
      <h1 class="spoken">{say('heat.title')}</h1>
      {error !== null && <p class="refused">{error.message}</p>}
      {station === null && value === null && error === null && (
        <p class="pad">{say('heat.fetching')}</p>
      )}
      <StationLines lines={lines} chosen={station ?? ''} />
      {station !== null && <Report key={station} station={station} turn={turn.value} />}
    </div>
  );
}
