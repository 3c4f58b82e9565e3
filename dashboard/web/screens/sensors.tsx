import { useComputed } from '@preact/signals';
import type { PointNow, Reject } from '@setwell/shared-models/api/collector';
import type { PointFitted } from '@setwell/shared-models/api/points';
import { useAsked } from '../asked.ts';
import { wallNowMs } from '../live.ts';
import { say } from '../language.ts';
import { readSince, useLiveReadings } from '../live-readings.ts';
import { clock, clockS, dateText, daysText, rateText, readingText } from '../phrase.ts';
import { Impact } from './impact.tsx';
import { faultName, PlantFaults } from './sensor-faults.tsx';

const everyMs = 3_000;
const rejectsShown = 100;

function Points({ points, fitted }: { points: PointNow[]; fitted: Map<string, PointFitted> }) {
  return (
    <div class="table-wide" tabIndex={0} role="region" aria-label={say('sensors.title')}>
      <table class="stacking">
        <thead>
          <tr>
            <th>{say('sensors.col.point')}</th>
            <th>{say('sensors.col.station')}</th>
            <th class="right">{say('sensors.col.value')}</th>
            <th>{say('sensors.col.when')}</th>
            <th>{say('sensors.col.quality')}</th>
            <th class="right">{say('sensors.col.rate')}</th>
            <th>{say('sensors.col.fitted')}</th>
            <th>{say('sensors.col.due')}</th>
            <th>{say('sensors.col.topic')}</th>
          </tr>
        </thead>
        <tbody>
          {points.map((asked) => (
            <tr key={asked.point}>
              <td class="id">
                <a class="row-link" href={`/sensors/${encodeURIComponent(asked.point)}`}>
                  <b>{asked.point}</b>
                </a>
              </td>
              <td class="id">{asked.station ?? '–'}</td>
              <NowCells asked={asked} />
              <td class="right" data-col={say('sensors.col.rate')}>
                {rateText(asked.perMin, asked.last === null ? 0 : asked.silentSinceMs)}
              </td>
              <FittedCells of={fitted.get(asked.point)} />
              <td data-col={say('sensors.col.topic')}>
                <code>{asked.topic}</code>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** On their own, so that a value that comes draws itself and not the table. */
function NowCells({ asked }: { asked: PointNow }) {
  const since = readSince(asked.point, asked.last?.t ?? null);
  const last = since ?? asked.last;
  const silentSinceMs = since === null ? asked.silentSinceMs : null;
  return (
    <>
      <td class="right id">{last === null ? '–' : readingText(asked.signal, last.v)}</td>
      <td class="id">{last === null ? say('sensors.never') : clockS(last.t)}</td>
      <td>
        {silentSinceMs === null ? (
          last === null ? (
            '–'
          ) : (
            say(`quality.${last.quality}`)
          )
        ) : (
          <b>{say('sensors.silent', { clock: clock(silentSinceMs) })}</b>
        )}
      </td>
    </>
  );
}

function FittedCells({ of }: { of: PointFitted | undefined }) {
  const { instrument, certificate } = of?.fitted ?? { instrument: '–', certificate: null };
  const [fault] = of?.faults ?? [];
  return (
    <>
      <td class="id" data-col={say('sensors.col.fitted')}>
        {instrument}
      </td>
      <td class="id" data-col={say('sensors.col.due')}>
        {fault !== undefined && <b>{faultName(fault.rule)} </b>}
        {certificate === null ? '–' : dateText(certificate.due)}
        {certificate !== null && certificate.daysLeft < 0 && (
          <b> {say('due.over', { days: daysText(-certificate.daysLeft) })}</b>
        )}
      </td>
    </>
  );
}

function SetAside({ rejects }: { rejects: Reject[] }) {
  if (rejects.length === 0) return <p>{say('sensors.asideNone')}</p>;
  return (
    <div class="table-wide" tabIndex={0} role="region" aria-label={say('sensors.aside')}>
      <table>
        <thead>
          <tr>
            <th>{say('sensors.aside.when')}</th>
            <th>{say('sensors.col.topic')}</th>
            <th>{say('sensors.aside.code')}</th>
            <th>{say('sensors.aside.found')}</th>
            <th>{say('sensors.aside.expected')}</th>
            <th>{say('sensors.aside.payload')}</th>
          </tr>
        </thead>
        <tbody>
          {rejects.map((reject, i) => (
            <tr key={i}>
              <td class="id">{clockS(reject.receivedMs)}</td>
              <td>
                <code>{reject.topic}</code>
              </td>
              <td>{reject.code}</td>
              <td>
                <code>{reject.found}</code>
              </td>
              <td>{reject.expected}</td>
              <td>
                <code>{reject.payload.slice(0, 120)}</code>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** Each point's last value, the silent ones first, and what was set aside with its reason. */
export function SensorsScreen() {
  useLiveReadings();
  const turn = useComputed(() => Math.floor(wallNowMs.value / everyMs));
  const points = useAsked<{ points: PointNow[] }>('/points', turn.value);
  const rejects = useAsked<{ rejects: Reject[] }>(`/rejects?limit=${rejectsShown}`, turn.value);
  const known = useAsked<{ points: PointFitted[] }>('/instruments', turn.value);
  const fitted = new Map(known.value?.points.map((point) => [point.point, point]));
  const all = points.value?.points ?? [];
  const silent = all.filter(({ silentSinceMs, last }) => silentSinceMs !== null || last === null);
  const rest = all.filter((point) => !silent.includes(point));
  return (
    <>
      <section class="section">
        <h1>{say('sensors.title')}</h1>
        <p>
          <a class="button" href="/sensors/due">
            {say('sensors.dueList')}
          </a>
        </p>
        {points.error !== null && <p class="refused">{points.error.message}</p>}
        {points.value === null && points.error === null && <p>{say('sensors.fetching')}</p>}
        {points.value !== null && (
          <p>
            {all.length === 0
              ? say('sensors.none')
              : silent.length > 0
                ? say('sensors.silentCount', { n: silent.length, all: all.length })
                : say('sensors.allSpeak', { all: all.length })}
          </p>
        )}
      </section>
      <PlantFaults points={known.value?.points ?? []} />
      <Impact turn={turn.value} />
      {all.length > 0 && (
        <section class="section">
          <Points points={[...silent, ...rest]} fitted={fitted} />
        </section>
      )}
      <section class="section">
        <h2>{say('sensors.aside')}</h2>
        {rejects.value === null ? (
          <p>{rejects.error?.message ?? say('sensors.fetching')}</p>
        ) : (
          <SetAside rejects={rejects.value.rejects} />
        )}
      </section>
    </>
  );
}
