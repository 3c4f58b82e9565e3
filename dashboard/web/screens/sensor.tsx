import { useComputed } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import type { PointNow } from '@setwell/shared-models/api/collector';
import type { PointDetail, PointWorth } from '@setwell/shared-models/api/points';
import { Refused } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { say } from '../language.ts';
import { wallNowMs } from '../live.ts';
import { readSince, useLiveReadings } from '../live-readings.ts';
import {
  clockS,
  dateText,
  daysText,
  differenceText,
  momentText,
  number,
  readingText,
  signedDifference,
  temperatureText,
} from '../phrase.ts';
import { SensorPapers, StandIn } from './sensor-papers.tsx';
import { SensorChange } from './sensor-change.tsx';
import { FaultList, PastFaults } from './sensor-faults.tsx';
import { UncertaintyBudget } from './uncertainty-budget.tsx';

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
  const points = useAsked<{ points: PointNow[] }>(
    `/points?beside=${encodeURIComponent(name)}`,
    turn.value,
  );
  const point = detail.value;
  if (point === null) {
    return <Absent name={name} error={detail.error} />;
  }
  const isDone = () => setDone((times) => times + 1);
  const all = points.value?.points ?? [];
  const others = all.flatMap(({ point: other, last, silentSinceMs: silent }) =>
    other !== name && last?.c != null && silent === null ? [other] : [],
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
      <SensorChange point={point} turn={turn.value} done={isDone} />
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
      {point.found.some(({ toMs }) => toMs !== null) && (
        <>
          <h3>{say('sensor.pastFaults')}</h3>
          <PastFaults found={point.found} />
        </>
      )}
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
      <p class="live-large">{last === null ? '–' : readingText(asked.signal, last.v)}</p>
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
              due: dateText(certificate.due),
              days: daysText(Math.abs(certificate.daysLeft)),
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
            offset: signedDifference(fallback.offsetK),
            doubt: differenceText(fallback.expandedK),
            until: momentText(fallback.untilMs),
          })}
        </p>
      )}
    </>
  );
}

/** What its last reading is worth: corrected, with its doubt and where that comes from. */
function Worth({ worth }: { worth: PointWorth }) {
  if (worth.kind === 'no-temperature') return <p class="refused">{say('sensor.noTemperature')}</p>;
  if (worth.kind === 'unproven') {
    return (
      <p class="refused">
        {say(`sensor.unproven.${worth.because}` as 'sensor.unproven.grace-over')}
      </p>
    );
  }
  return (
    <>
      <p>
        {say('sensor.shown', { c: temperatureText(worth.shownC, 2) })} ·{' '}
        <b>
          {say('sensor.corrected', {
            c: temperatureText(worth.correctedC, 2),
            u: differenceText(worth.expandedK, 2),
          })}
        </b>
      </p>
      <UncertaintyBudget worth={worth} />
    </>
  );
}
