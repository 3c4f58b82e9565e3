import { useComputed } from '@preact/signals';
import type { FloorCall } from '@setwell/shared-models/api/floor';
import { useAsked } from '../asked.ts';
import { GoButton, owner } from '../floor/call-strip.tsx';
import { calls, rowMs } from '../live.ts';
import { say } from '../language.ts';
import { callText, clock, clockFrom, duration } from '../phrase.ts';

const historyShown = 100;

function tooLate(call: FloorCall, nowMs: number): string | null {
  if (call.tooLateMs === null) return null;
  const left = call.tooLateMs - nowMs;
  return left <= 0
    ? say('calls.tooLatePast', { clock: clock(call.tooLateMs) })
    : say('calls.tooLate', { time: duration(Math.floor(left / 60_000), false) });
}

function CallCard({ call }: { call: FloorCall }) {
  const nowMs = rowMs.value;
  const late = tooLate(call, nowMs);
  return (
    <li class="call-card">
      <b class="id">{call.station}</b>
      <div class="lines">
        <b>{callText(call)}</b>
        {late !== null && <span class="late num">{late}</span>}
        <small class="num">
          {say('calls.raised', { clock: clockFrom(call.raisedMs, nowMs) })} ·{' '}
          {say('calls.who', { who: say(`person.${call.who}`) })} · {owner(call)}
        </small>
        {call.load !== null && (
          <a class="button" href={`/load/${encodeURIComponent(call.load)}`}>
            {say('calls.openLoad')} <span class="id">{call.load}</span>
          </a>
        )}
      </div>
      <div>{call.acknowledged === null && <GoButton call={call} />}</div>
    </li>
  );
}

function History({ version }: { version: string }) {
  const { value } = useAsked<{ calls: FloorCall[] }>(`/calls?limit=${historyShown}`, version);
  const past = (value?.calls ?? []).filter((call) => call.cleared !== null);
  if (past.length === 0) return null;
  const nowMs = rowMs.value;
  return (
    <section class="section">
      <h2>{say('calls.history')}</h2>
      <div class="table-wide" tabIndex={0} role="region" aria-label={say('calls.history')}>
        <table>
          <thead>
            <tr>
              <th>{say('calls.col.raised')}</th>
              <th>{say('calls.col.station')}</th>
              <th>{say('calls.col.what')}</th>
              <th>{say('calls.col.who')}</th>
              <th>{say('calls.col.end')}</th>
            </tr>
          </thead>
          <tbody>
            {past.map((call) => (
              <tr key={call.id}>
                <td class="id">{clockFrom(call.raisedMs, nowMs)}</td>
                <td class="id">{call.station}</td>
                <td>{callText(call)}</td>
                <td>{owner(call)}</td>
                <td class="id">
                  {call.cleared === null
                    ? ''
                    : `${clock(call.cleared.atMs)} ${say(`calls.cleared.${call.cleared.because}`)}`}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

/** Who must do what, by when it is too late; and what was. */
export function CallsScreen() {
  const version = useComputed(() => calls.value.map((call) => call.id).join());
  const open = calls.value;
  return (
    <>
      <section>
        <div class="section">
          <h1>{say('calls.title')}</h1>
          {open.length === 0 ? (
            <>
              <p>{say('calls.none')}</p>
              <p class="soft">{say('calls.noneMore')}</p>
            </>
          ) : (
            <p class="soft">{say('calls.open')}</p>
          )}
        </div>
        <ul class="calls-list rows">
          {open.map((call) => (
            <CallCard key={call.id} call={call} />
          ))}
        </ul>
      </section>
      <History version={version.value} />
    </>
  );
}
