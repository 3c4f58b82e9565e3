import { useComputed } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import type { PointNow } from '@setwell/shared-models/api/collector';
import type { PointDetail, PointWorth } from '@setwell/shared-models/api/points';
import type { ApprovedPlace } from '@setwell/shared-models/condition/surveyed-place';
import { Refused } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { say } from '../language.ts';
import { wallNowMs } from '../live.ts';
import { readSince, useLiveReadings } from '../live-readings.ts';
import { clockS, day, momentText, number, whoText } from '../phrase.ts';
import { unitOf } from './signal-unit.ts';
import { SensorPapers, StandIn } from './sensor-papers.tsx';
import { SensorChange } from './sensor-change.tsx';
import { FaultList, PastFaults } from './sensor-faults.tsx';

const everyMs = 2_000;

/** One point: what it reads, what is fitted, what that is worth, and the way through a change. */
export function SensorScreen({ name }: { name: string }) {
  useLiveReadings(name);
  const turn = useComputed(() => Math.floor(wallNowMs.value / everyMs));
  const [done, setDone] = useState(0);
  const detail = useAsked<PointDetail>(
    `/points/${encodeURIComponent(name)}`,
    `${turn.value} ${done}`,
  );
  const points = useAsked<{ points: PointNow[] }>('/points', turn.value);
  const point = detail.value;
  if (point === null) {
    return <Absent name={name} error={detail.error} />;
  }
  const isDone = () => setDone((times) => times + 1);
  const all = points.value?.points ?? [];
  const others = all.flatMap(({ point: other, station, last, silentSinceMs: silent }) =>
    other !== name && station === point.station && last?.c != null && silent === null
      ? [other]
      : [],
  );
  const silentSinceMs = all.find((each) => each.point === name)?.silentSinceMs ?? null;
  const isDoubted = point.faults.some(({ doubts }) => doubts);
  const fails = (silentSinceMs !== null || isDoubted) && point.fallback === null;
  return (
    <>
      <NowOf point={point} silentSinceMs={silentSinceMs}>
        {fails && others.length > 0 && (
          <>
            <p>{say('papers.offer')}</p>
            <StandIn point={point.point} others={others} done={isDone} />
          </>
        )}
      </NowOf>
      <section class="section">
        <h2>{say('sensor.fitted')}</h2>
        <Fitted point={point} />
      </section>
      {point.worth !== null && (
        <section class="section">
          <h2>{say('sensor.worth')}</h2>
          <Worth worth={point.worth} />
        </section>
      )}
      <SensorChange point={point} points={all} done={isDone} />
      <SensorPapers point={point} others={fails ? [] : others} done={isDone} />
      <History point={point} />
    </>
  );
}

/** What has been fitted here, and when. */
function History({ point }: { point: PointDetail }) {
  return (
    <section class="section">
      <h2>{say('sensor.history')}</h2>
      <ul>
        {point.history.map(({ instrument, serial, fromMs, toMs, certificates }) => (
          <li key={`${instrument}${String(fromMs)}`}>
            <b>{instrument}</b> {serial ?? ''}{' '}
            {fromMs === null ? say('sensor.sinceEver') : momentText(fromMs)} –{' '}
            {toMs === null ? say('sensor.still') : momentText(toMs)}; {certificates.join(', ')}
          </li>
        ))}
      </ul>
      <PastFaults found={point.found} />
    </section>
  );
}

/** Nothing to show: it is being fetched, cannot be, or the plant has no such point. */
function Absent({ name, error }: { name: string; error: Error | null }) {
  if (error === null) return <p class="pad">…</p>;
  const isUnknown = error instanceof Refused && error.status === 404;
  return (
    <section class="section">
      <h1>{name}</h1>
      <p class="refused">{isUnknown ? say('sensor.unknown') : error.message}</p>
      <p>
        <a class="button" href="/sensors">
          {say('sensors.title')}
        </a>
      </p>
    </section>
  );
}

/** On its own, so that a value that comes draws itself and not the screen. */
function Now({ asked }: { asked: PointDetail }) {
  const last = readSince(asked.point, asked.last?.t ?? null) ?? asked.last;
  return (
    <>
      <p class="live-large">
        {last === null ? '–' : number(last.v, 1)} {unitOf(asked.signal)}
      </p>
      <p>{last === null ? say('sensors.never') : clockS(last.t)}</p>
    </>
  );
}

/** What it reads now, and what is wrong with that. */
function NowOf({
  point,
  silentSinceMs,
  children,
}: {
  point: PointDetail;
  silentSinceMs: number | null;
  children: ComponentChildren;
}) {
  return (
    <section class="section">
      <h1>
        {point.point} <small>{point.station ?? '–'}</small>
      </h1>
      <Now asked={point} />
      {point.withdrawn !== null && (
        <p class="refused">
          {say('sensor.withdrawn', {
            by: point.withdrawn.by,
            clock: clockS(point.withdrawn.sinceMs),
            reason: point.withdrawn.reason,
          })}
        </p>
      )}
      {silentSinceMs !== null && (
        <p>
          <b>{say('sensors.silent', { clock: clockS(silentSinceMs) })}</b>
        </p>
      )}
      {point.faults.length === 0 ? (
        silentSinceMs === null && <p>{say('sensor.noFault')}</p>
      ) : (
        <FaultList faults={point.faults} />
      )}
      {children}
    </section>
  );
}

function Fitted({ point: { fitted, fallback, role, depthMm } }: { point: PointDetail }) {
  if (fitted === null) return <p>{say('sensor.nothing')}</p>;
  const { instrument, serial, element, certificate, proven } = fitted;
  return (
    <>
      <p>
        <b class="id">{instrument}</b> {[serial, element].filter(Boolean).join(' · ')}
      </p>
      <p>
        {certificate === null
          ? say('sensor.noCertificate')
          : say(`sensor.certificate.${certificate.state}`, {
              certificate: certificate.certificate,
              due: certificate.due,
              days: Math.abs(certificate.daysLeft),
            })}
      </p>
      <p>{say(proven ? 'sensor.proven' : 'sensor.notProven')}</p>
      <p>
        {say(`sensor.role.${role}`)}
        {depthMm === null ? '' : ` · ${say('sensor.depth', { mm: number(depthMm, 0) })}`}
      </p>
      {fallback !== null && (
        <p class="refused">
          {say('sensor.fallback', {
            point: fallback.standsIn,
            offset: number(fallback.offsetK, 1),
            doubt: number(fallback.expandedK, 1),
            until: momentText(fallback.untilMs),
          })}
        </p>
      )}
    </>
  );
}

/** Whose figure the place is. */
function PlaceOf({ place: { survey, atMs, by } }: { place: ApprovedPlace }) {
  return (
    <>
      <br />
      <small>{say('doubt.placeOf', { survey, day: day(atMs), by: whoText(by) })}</small>
    </>
  );
}

/** The budget as a metrologist reads it: value, divisor, standard uncertainty, share. */
function Worth({ worth }: { worth: PointWorth }) {
  if (worth.kind === 'no-temperature') return <p class="refused">{say('sensor.noTemperature')}</p>;
  if (worth.kind === 'unproven') {
    return (
      <p class="refused">
        {say(`sensor.unproven.${worth.because}` as 'sensor.unproven.grace-over')}
      </p>
    );
  }
  const { shownC, correctedC, rows, combinedK, expandedK, effectiveDegreesOfFreedom } = worth;
  return (
    <>
      <p>
        {say('sensor.shown', { c: number(shownC, 2) })} ·{' '}
        <b>{say('sensor.corrected', { c: number(correctedC, 2), u: number(expandedK, 2) })}</b>
      </p>
      <div class="table-wide" tabIndex={0} role="region" aria-label={say('sensor.worth')}>
        <table>
          <thead>
            <tr>
              <th>{say('budget.source')}</th>
              <th>{say('budget.evaluation')}</th>
              <th>{say('budget.distribution')}</th>
              <th class="right">{say('budget.value')}</th>
              <th class="right">{say('budget.divisor')}</th>
              <th class="right">{say('budget.standard')}</th>
              <th class="right">{say('budget.share')}</th>
              <th class="right">ν</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((row) => (
              <tr key={row.source}>
                <td>
                  {say(`doubt.${row.source}`)}
                  {row.source === 'place' && worth.place !== null && (
                    <PlaceOf place={worth.place} />
                  )}
                </td>
                <td>{row.evaluation}</td>
                <td>{say(`distribution.${row.distribution}`)}</td>
                <td class="right">{number(row.valueK, 3)} K</td>
                <td class="right">{number(row.divisor, 3)}</td>
                <td class="right">{number(row.standardK, 3)} K</td>
                <td class="right">{number(100 * row.share, 0)} %</td>
                <td class="right">
                  {row.degreesOfFreedom === null ? '∞' : number(row.degreesOfFreedom, 0)}
                </td>
              </tr>
            ))}
          </tbody>
          <tfoot>
            <tr>
              <td colSpan={5}>{say('budget.combined')}</td>
              <td class="right">{number(combinedK, 3)} K</td>
              <td class="right">{say('budget.expanded', { u: number(expandedK, 3) })}</td>
              <td class="right">
                {effectiveDegreesOfFreedom === null ? '∞' : number(effectiveDegreesOfFreedom, 0)}
              </td>
            </tr>
          </tfoot>
        </table>
      </div>
    </>
  );
}
