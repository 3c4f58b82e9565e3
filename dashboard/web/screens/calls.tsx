import { useState } from 'preact/hooks';
import { useComputed } from '@preact/signals';
import type { FloorCall } from '@setwell/shared-models/api/floor';
import { useAsked } from '../asked.ts';
import { GoButton, owner } from '../floor/call-strip.tsx';
import { calls, live, nowMs, rowMs } from '../live.ts';
import { say } from '../language.ts';
import { callText, clock, clockFrom, duration, whoText } from '../phrase.ts';
import { ReasonForm } from '../reason-form.tsx';
import { loadAddress } from '../route.ts';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';
import { CallEvidenceLines } from './call-evidence.tsx';
import { Choice } from './choice.tsx';

const historyShown = 100;
const minuteMs = 60_000;

function tooLate(call: FloorCall, nowMs: number): string | null {
  if (call.tooLateMs === null) return null;
  const left = call.tooLateMs - nowMs;
  return left <= 0
    ? say('calls.tooLatePast', { clock: clockFrom(call.tooLateMs, nowMs) })
    : say('calls.tooLate', { time: duration(Math.floor(left / 60_000), false) });
}

const shelveForMin = [15, 60, 240, 480] as const;

/** Puts a call aside, with a reason and an end; it comes back by itself. */
function Shelve({ call, close }: { call: FloorCall; close: () => void }) {
  const [min, setMin] = useState<number>(shelveForMin[0]);
  const { sent, send } = useSending();
  const now = nowMs.value;
  const untilMs = (each: number): number => Math.ceil(now / minuteMs + each) * minuteMs;
  const until = (each: number): string => clockFrom(untilMs(each), now);
  return (
    <>
      <ReasonForm
        label={say('calls.shelveWhy')}
        confirm={say('calls.shelveYes')}
        sending={sent.state === 'sending'}
        cancel={close}
        send={(reason) => {
          const done = say('calls.shelveDone', { clock: until(min) });
          const address = `/calls/${encodeURIComponent(call.id)}/shelve`;
          send(address, { reason, untilMs: untilMs(min) }, done);
        }}
      >
        <Choice
          legend={say('calls.shelveFor')}
          name={`shelve-${call.id}`}
          options={shelveForMin.map((each) => ({
            value: each as number,
            text: say('calls.shelveMin', { clock: until(each), time: duration(each, true) }),
          }))}
          value={[min]}
          choose={setMin}
        />
      </ReasonForm>
      <Told sent={sent} />
    </>
  );
}

function CallCard({ call }: { call: FloorCall }) {
  const [shelving, setShelving] = useState(false);
  const now = rowMs.value;
  const late = tooLate(call, now);
  const handed = call.handedOn.at(-1);
  return (
    <li class="call-card">
      <b class="id">{call.station}</b>
      <div class="lines">
        <b>{callText(call)}</b>
        {late !== null && <span class="late num">{late}</span>}
        {call.state !== 'returned' && (
          <>
            <span>{callText(call, '.do')}</span>
            <span>{say(`calls.costs.${call.costs}`)}</span>
          </>
        )}
        <small class="num">
          {say('calls.raised', { clock: clockFrom(call.raisedMs, now) })} ·{' '}
          {say('calls.who', { who: say(`person.${call.who}`) })} · {owner(call)}
          {handed !== undefined &&
            ` · ${say('calls.handedOn', { who: whoText(handed.to), clock: clockFrom(handed.atMs, now) })}`}
        </small>
        <CallEvidenceLines call={call} nowMs={now} />
        <div class="acts-row">
          {call.load !== null && (
            <a class="button" href={loadAddress(call.load)}>
              {say('calls.openLoad')} <span class="id">{call.load}</span>
            </a>
          )}
          {call.kind === 'closing-unnamed' && (
            <a class="button" href={`/start/${encodeURIComponent(call.station ?? '')}`}>
              {say('calls.name')}
            </a>
          )}
          <button aria-expanded={shelving} onClick={() => setShelving(!shelving)}>
            {say('calls.shelve')}
          </button>
        </div>
        {shelving && <Shelve call={call} close={() => setShelving(false)} />}
      </div>
      <div>{call.acknowledged === null && <GoButton call={call} />}</div>
    </li>
  );
}

/** Calls put aside: by whom, why and until when; each can be had back before its end. */
function Shelved() {
  const aside = Object.values(live.value.calls).filter(
    ({ cleared, shelved }) => cleared === null && shelved !== null,
  );
  if (aside.length === 0) return null;
  return (
    <section class="section">
      <h2>{say('calls.shelved')}</h2>
      <ul class="calls-list">
        {aside.map((call) => (
          <ShelvedCall key={call.id} call={call} />
        ))}
      </ul>
    </section>
  );
}

function ShelvedCall({ call }: { call: FloorCall }) {
  const { sent, send } = useSending();
  const { shelved } = call;
  if (shelved === null) return null;
  const address = `/calls/${encodeURIComponent(call.id)}/unshelve`;
  return (
    <li class="shelved">
      <b class="id">{call.station}</b>
      <span class="lines">
        {callText(call)}{' '}
        <small class="num">
          {say('calls.shelvedBy', {
            by: whoText(shelved.by),
            clock: clockFrom(shelved.untilMs, rowMs.value),
            reason: shelved.reason,
          })}
        </small>
      </span>
      <button
        disabled={sent.state === 'sending'}
        onClick={() => send(address, {}, say('calls.unshelveDone'))}
      >
        {say('calls.unshelve')}
      </button>
      <Told sent={sent} />
    </li>
  );
}

/** How many calls there were lately, beside what one person can answer. */
function Rate({ raised }: { raised: FloorCall[] }) {
  const now = nowMs.value;
  const within = (min: number): number =>
    raised.filter(({ raisedMs }) => now - raisedMs < min * minuteMs).length;
  return <p class="soft num">{say('calls.rate', { n: within(60), perTen: within(10) })}</p>;
}

function History({ version }: { version: string }) {
  const { value } = useAsked<{ calls: FloorCall[] }>(`/calls?limit=${historyShown}`, version);
  const all = value?.calls ?? [];
  const past = all.filter((call) => call.cleared !== null);
  if (past.length === 0) return null;
  const now = rowMs.value;
  return (
    <section class="section">
      <h2>{say('calls.history')}</h2>
      <Rate raised={all} />
      <div class="table-wide" tabIndex={0} role="region" aria-label={say('calls.history')}>
        <table class="stacking">
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
                <td class="id">{clockFrom(call.raisedMs, now)}</td>
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
      <Shelved />
      <History version={version.value} />
    </>
  );
}
