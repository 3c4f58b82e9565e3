import { useComputed } from '@preact/signals';
import type { HealthNow, PointHealth } from '@setwell/shared-models/api/health';
import { useAsked } from '../asked.ts';
import { collectorWords } from '../collector-words.ts';
import { isMessage, say, sayAny } from '../language.ts';
import { wallNowMs } from '../live.ts';
import { clock, clockFrom, clockS, number, rateText, readingText } from '../phrase.ts';

const everyMs = 3_000;
/** A clock that is off by less is a slow network [ms]. */
const noticedOffMs = 2_000;
/** Beyond it a page is no page any more; the odd ones come first. */
const mostShown = 500;

const minutes = (ms: number): string => number(Math.round(ms / 60_000), 0);
const seconds = (ms: number): string => number(ms / 1000, 1);

/** What is odd of a point, as a number to sort by; 0 where nothing is. */
function oddness(point: PointHealth): number {
  const off = Math.abs(point.offsetMs ?? 0) > noticedOffMs ? 1000 : 0;
  const silent = point.silentSinceMs !== null || point.last === null ? 10_000 : 0;
  const lost = point.sequence.missing > 0 ? 500 : 0;
  const risk = (point.atMostOnce > 0 ? 50 : 0) + (point.conflicts.length > 0 ? 100 : 0);
  return silent + off + lost + risk + point.gaps.length;
}

function conditionText({ code, values }: HealthNow['conditions'][number]): string {
  const key = `call.collector.${code}`;
  return isMessage(key) ? sayAny(key, code, collectorWords(values)) : code;
}

type MachineRow = { key: string; what: string; how: string[] };

function brokerRow({ broker, nowMs }: HealthNow): MachineRow {
  const { connected, sinceMs, faults } = broker;
  const since = clockFrom(sinceMs ?? nowMs, nowMs);
  const how = connected
    ? say('health.brokerUp', { clock: since })
    : sinceMs === null
      ? say('health.brokerNever')
      : say('health.brokerDown', { clock: since });
  return { key: 'broker', what: say('health.broker'), how: [how, ...faults] };
}

function clockRow({ clock: own }: HealthNow): MachineRow {
  const { synchronised, steps } = own;
  const last = steps.at(-1);
  const follows =
    synchronised === null
      ? say('health.clockUnknown')
      : say(synchronised ? 'health.clockFollows' : 'health.clockAlone');
  if (last === undefined) return { key: 'clock', what: say('health.clock'), how: [follows] };
  const set = say('health.clockSteps', {
    n: steps.length,
    clock: clock(last.atMs),
    s: number(Math.round(last.byMs / 1000), 0),
  });
  return { key: 'clock', what: say('health.clock'), how: [follows, set] };
}

function targetRows({ targets }: HealthNow): MachineRow[] {
  const what = say('health.target');
  if (targets.length === 0) return [{ key: 'target', what, how: [say('health.targetNone')] }];
  return targets.map(({ target, lagBatches, lagSeconds, fault }) => {
    const lag =
      lagBatches === 0
        ? say('health.targetUp')
        : say('health.targetBehind', { batches: lagBatches, min: minutes(lagSeconds * 1000) });
    const says = fault === null ? [] : [say('health.targetFault', collectorWords({ fault }))];
    return { key: target, what, how: [lag, ...says] };
  });
}

function machineRows(health: HealthNow): MachineRow[] {
  const { disk, judge } = health;
  const percent = (share: number): string => number(share * 100, 0);
  const diskText = say('health.diskUsed', {
    percent: percent(disk.used),
    drop: percent(disk.drop),
    refuse: percent(disk.refuse),
  });
  const judgeText =
    judge.behindMs < 5000
      ? say('health.judgeNow')
      : say('health.judgeBehind', { s: number(Math.round(judge.behindMs / 1000), 0) });
  return [
    brokerRow(health),
    clockRow(health),
    { key: 'disk', what: say('health.disk'), how: [diskText] },
    { key: 'judge', what: say('health.judge'), how: [judgeText] },
    ...targetRows(health),
  ];
}

function Machine({ health }: { health: HealthNow }) {
  return (
    <div class="table-wide" tabIndex={0} role="region" aria-label={say('health.machine')}>
      <table>
        <thead>
          <tr>
            <th>{say('health.col.what')}</th>
            <th>{say('health.col.how')}</th>
          </tr>
        </thead>
        <tbody>
          {machineRows(health).map(({ key, what, how }) => (
            <tr key={key}>
              <td>
                <b>{what}</b>
              </td>
              <td>
                {how.map((line) => (
                  <div key={line}>{line}</div>
                ))}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function gapsText({ gaps }: PointHealth): string {
  if (gaps.length === 0) return say('health.none');
  const longestMs = Math.max(...gaps.map(({ fromMs, toMs }) => toMs - fromMs));
  return say('health.gaps', { n: gaps.length, min: minutes(longestMs) });
}

function risksOf({ atMostOnce, conflicts, sequence }: PointHealth): string[] {
  const count = conflicts.reduce((sum, conflict) => sum + conflict.count, 0);
  const clients = conflicts.map(({ client }) =>
    client === '' ? say('health.unknownClient') : client,
  );
  return [
    ...(atMostOnce > 0 ? [say('health.qos0')] : []),
    ...(count > 0 ? [say('health.conflicts', { n: count, clients: clients.join(', ') })] : []),
    ...(sequence.restarts > 0 ? [say('health.restarts', { n: sequence.restarts })] : []),
  ];
}

function PointRow({ point }: { point: PointHealth }) {
  const { last, silentSinceMs, offsetMs, sequence, perMin } = point;
  const isOff = Math.abs(offsetMs ?? 0) > noticedOffMs;
  const offset =
    offsetMs === null ? say('health.none') : say('health.offset', { s: seconds(offsetMs) });
  return (
    <tr>
      <td class="id">
        <b>{point.point}</b>
      </td>
      <td class="id">
        {last === null
          ? say('sensors.never')
          : `${readingText(point.signal, last.v)} · ${clockS(last.t)}`}
        {silentSinceMs !== null && (
          <div>
            <b>{say('sensors.silent', { clock: clock(silentSinceMs) })}</b>
          </div>
        )}
      </td>
      <td class="right" data-col={say('health.col.rate')}>
        {rateText(perMin, silentSinceMs)}
      </td>
      <td class="right" data-col={say('health.col.offset')}>
        {isOff ? <b>{offset}</b> : offset}
      </td>
      <td data-col={say('health.col.gaps')}>{gapsText(point)}</td>
      <td class="right" data-col={say('health.col.missing')}>
        {sequence.missing === 0
          ? say('health.none')
          : say('health.missing', { n: sequence.missing })}
      </td>
      <td>
        {risksOf(point).map((risk) => (
          <div key={risk}>{risk}</div>
        ))}
      </td>
    </tr>
  );
}

function Points({ points }: { points: PointHealth[] }) {
  const sorted = [...points].sort((a, b) => oddness(b) - oddness(a));
  return (
    <div class="table-wide" tabIndex={0} role="region" aria-label={say('health.points')}>
      <table class="stacking">
        <thead>
          <tr>
            <th>{say('health.col.point')}</th>
            <th>{say('health.col.value')}</th>
            <th class="right">{say('health.col.rate')}</th>
            <th class="right">{say('health.col.offset')}</th>
            <th>{say('health.col.gaps')}</th>
            <th class="right">{say('health.col.missing')}</th>
            <th>{say('health.col.risk')}</th>
          </tr>
        </thead>
        <tbody>
          {sorted.slice(0, mostShown).map((point) => (
            <PointRow key={point.point} point={point} />
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** The collector itself and what is odd about what reaches it; values stand on the Sensors page. */
export function HealthScreen() {
  const turn = useComputed(() => Math.floor(wallNowMs.value / everyMs));
  const { value: health, error } = useAsked<HealthNow>('/health', turn.value);
  return (
    <>
      <section class="section">
        <h1>{say('health.title')}</h1>
        {error !== null && <p class="refused">{error.message}</p>}
        {health !== null && health.conditions.length === 0 && <p>{say('health.allWell')}</p>}
        {health !== null && health.conditions.length > 0 && (
          <>
            <p>
              <b>
                {health.conditions.length === 1
                  ? say('health.needs.one')
                  : say('health.needs', { n: health.conditions.length })}
              </b>
            </p>
            <ul>
              {health.conditions.map((condition) => (
                <li key={`${condition.code} ${condition.subject}`}>{conditionText(condition)}</li>
              ))}
            </ul>
          </>
        )}
        {health !== null && <Machine health={health} />}
      </section>
      <section class="section">
        <h2>{say('health.points')}</h2>
        {health !== null && <Points points={health.points} />}
      </section>
    </>
  );
}
