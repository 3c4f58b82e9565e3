import '../style/print.css';
import './handover.css';
import type { ComponentChildren } from 'preact';
import { useComputed } from '@preact/signals';
import { loadSlot, verdictToken, type FloorLoad } from '@setwell/shared-models/api/floor';
import type { Handover } from '@setwell/shared-models/api/handover';
import { actsDone } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { Sign } from '../cure/sign.tsx';
import { owner } from '../floor/call-strip.tsx';
import { CheckpointSlip } from '../record/checkpoint-slip.tsx';
import { SafetyNote } from '../load/safety-note.tsx';
import { live, staleSinceMs, wallNowMs } from '../live.ts';
import { say } from '../language.ts';
import {
  callText,
  clock,
  clockFrom,
  clockNear,
  clockUp,
  day,
  slotText,
  whoText,
} from '../phrase.ts';
import { loadAddress } from '../route.ts';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';

/** The sheet is folded anew this often while it is looked at [ms of wall time]. */
const foldEveryMs = 15_000;

/** One part of the sheet; where there is nothing, it says so in one line: nothing was forgotten. */
function Part({
  title,
  none,
  count,
  children,
}: {
  title: string;
  none: string;
  count: number;
  children: ComponentChildren;
}) {
  return (
    <section class="part">
      <h2>
        {title} <span class="num">{count}</span>
      </h2>
      {count === 0 ? <p class="soft">{none}</p> : children}
    </section>
  );
}

function loadLink(load: string): ComponentChildren {
  return (
    <a class="id" href={loadAddress(load)}>
      {load}
    </a>
  );
}

/** What an open load will do, with the clock: the next shift has no use for minutes. */
function outAt(load: FloorLoad, atMs: number): string {
  const { forecast } = load;
  const slot = loadSlot(load, atMs);
  if (slot.kind === 'more' && forecast?.provenAtMs != null) {
    return say('row.proven', { clock: clockUp(forecast.provenAtMs, atMs) });
  }
  return slotText(slot, atMs);
}

function InStations({ sheet }: { sheet: Handover }) {
  const { inStations, atMs } = sheet;
  return (
    <Part
      title={say('handover.inStations')}
      none={say('handover.inStations.none')}
      count={inStations.length}
    >
      <table class="stacking">
        <tbody>
          {inStations.map((load) => (
            <tr key={load.load}>
              <td class="with-sign">
                <Sign token={verdictToken(load)} dashed={load.blindSinceMs !== null} />
                <b class="id">{load.station}</b>
              </td>
              <td>
                <span class="id">{load.lot}</span> {loadLink(load.load)}
              </td>
              <td>{say(`verdict.${verdictToken(load)}`)}</td>
              <td class="num">
                {say('handover.since', { clock: clockFrom(load.startMs, atMs) })}
                {load.plannedEndMs !== null &&
                  `, ${say('row.plan', { clock: clockNear(load.plannedEndMs, atMs) })}`}
              </td>
              <td class="num strong">{outAt(load, atMs)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Part>
  );
}

function Held({ sheet }: { sheet: Handover }) {
  const { held, atMs } = sheet;
  return (
    <Part title={say('handover.held')} none={say('handover.held.none')} count={held.length}>
      <table class="stacking">
        <tbody>
          {held.map((each) => (
            <tr key={each.load}>
              <td>
                <b class="id">{each.lot}</b> {loadLink(each.load)}
              </td>
              <td>{say(`verdict.${each.verdict}`)}</td>
              <td>
                {each.rule === null
                  ? say('handover.heldBy', { by: whoText(each.by), reason: each.reason })
                  : say('handover.heldByRule')}
                {each.waitsFor !== null &&
                  ` · ${say('handover.waits', { by: whoText(each.waitsFor.by) })}`}
                {each.questioned && ` · ${say('decide.questioned')}`}
              </td>
              <td class="num">{clockFrom(each.sinceMs, atMs)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Part>
  );
}

function CallsLeft({ sheet }: { sheet: Handover }) {
  const { calls, shelved, atMs } = sheet;
  return (
    <>
      <Part title={say('calls.title')} none={say('calls.none')} count={calls.length}>
        <ul>
          {calls.map((call) => (
            <li key={call.id}>
              <b class="id">{call.station}</b> {callText(call)} · {owner(call)}
            </li>
          ))}
        </ul>
      </Part>
      <Part title={say('calls.shelved')} none={say('calls.shelved.none')} count={shelved.length}>
        <ul>
          {shelved.map((call) => (
            <li key={call.id}>
              <b class="id">{call.station}</b> {callText(call)} ·{' '}
              {call.shelved !== null &&
                say('calls.shelvedBy', {
                  by: whoText(call.shelved.by),
                  clock: clockFrom(call.shelved.untilMs, atMs),
                  reason: call.shelved.reason,
                })}
            </li>
          ))}
        </ul>
      </Part>
    </>
  );
}

interface ListedPart {
  title: 'unnamed' | 'outOfService' | 'standIns' | 'silent' | 'promises' | 'dueTests';
  lines: string[];
  /** Where each line is dealt with, where that is a screen. */
  addresses?: string[];
}

/** What is left beside loads and calls, each as one line. */
function listed(sheet: Handover): ListedPart[] {
  const { atMs } = sheet;
  const at = (ms: number | null): string => (ms === null ? '?' : clockFrom(ms, atMs));
  return [
    {
      title: 'unnamed',
      lines: sheet.unnamed.map(({ station, startLatestMs, endEarliestMs }) =>
        say(endEarliestMs === null ? 'handover.unnamedOpen' : 'handover.unnamedLine', {
          station,
          from: at(startLatestMs),
          to: at(endEarliestMs),
        }),
      ),
      addresses: sheet.unnamed.map(({ station }) => `/start/${encodeURIComponent(station)}`),
    },
    {
      title: 'outOfService',
      lines: sheet.outOfService.map(({ station, point, state, by, untilMs, reason }) =>
        say(untilMs === null ? 'handover.outLine' : 'handover.outLineUntil', {
          what: point ?? station ?? '?',
          state: say(`slot.service.${state}`),
          by: whoText(by),
          clock: at(untilMs),
          reason,
        }),
      ),
    },
    {
      title: 'standIns',
      lines: sheet.standIns?.map(({ point, standsIn, untilMs, reason }) =>
        say('handover.standInLine', { point, standsIn, clock: at(untilMs), reason }),
      ) ?? [say('handover.standIns.unknown')],
    },
    {
      title: 'silent',
      lines: sheet.silent.map(({ station, load, point, sinceMs }) =>
        say('handover.silentLine', { station, load, point, clock: at(sinceMs) }),
      ),
    },
    {
      title: 'promises',
      lines: sheet.promises.map(({ station, lot, untilMs, by }) =>
        say('handover.promiseLine', { station, lot, clock: at(untilMs), by: whoText(by) }),
      ),
    },
    {
      title: 'dueTests',
      lines: sheet.dueTests.map(({ lot, station, method, sinceMs }) =>
        say('handover.testLine', { lot, station, method, clock: at(sinceMs) }),
      ),
    },
  ];
}

function Lists({ sheet }: { sheet: Handover }) {
  return (
    <div class="handover-lists">
      {listed(sheet).map(({ title, lines, addresses }) => (
        <Part
          key={title}
          title={say(`handover.${title}`)}
          none={say(`handover.${title}.none`)}
          count={lines.length}
        >
          <ul>
            {lines.map((line, i) => (
              <li key={line}>
                {line}{' '}
                {addresses?.[i] !== undefined && (
                  <a class="button no-print" href={addresses[i]}>
                    {say('calls.name')}
                  </a>
                )}
              </li>
            ))}
          </ul>
        </Part>
      ))}
    </div>
  );
}

/** Who of the coming shift has read it as it stood, and room on paper for whoever reads it there. */
function ReadBy({ sheet }: { sheet: Handover }) {
  const { sent, send } = useSending();
  const { readBy, atMs, upToN, decisions } = sheet;
  return (
    <section class="part">
      <h2>{say('handover.readBy')}</h2>
      {readBy.map(({ by, atMs: readMs, n }) => (
        <p key={n}>{say('handover.reader', { by: whoText(by), clock: clockFrom(readMs, atMs) })}</p>
      ))}
      <p class="on-paper sign-here">{say('handover.signHere')}</p>
      <p class="soft">
        {say('handover.decisions', {
          since: clockFrom(decisions.sinceMs, atMs),
          n: decisions.total,
          against: decisions.againstVerdict,
        })}
      </p>
      <div class="acts no-print">
        <button
          class="main"
          disabled={sent.state === 'sending'}
          onClick={() => send('/handover/read', { upToN }, say('handover.readDone'))}
        >
          {say('handover.iRead')}
        </button>
        <button onClick={() => print()}>{say('load.print')}</button>
      </div>
      <Told sent={sent} />
    </section>
  );
}

function shiftText({ id, fromMs, toMs }: NonNullable<Handover['shift']>): string {
  return say('handover.shift', { id, from: clock(fromMs), to: clock(toMs) });
}

/** What one shift leaves to the next, on one sheet; it writes itself. */
export function HandoverScreen() {
  const version = useComputed(() => {
    const { calls } = live.value;
    const told = Object.values(calls).map(({ lastN }) => lastN);
    return `${told.join()} ${Math.floor(wallNowMs.value / foldEveryMs)} ${staleSinceMs.value} ${actsDone.value}`;
  });
  const { value: sheet, error } = useAsked<Handover>('/handover', version.value);
  if (sheet === null) {
    return (
      <section class="section">
        <h1>{say('nav.handover')}</h1>
        <p>{error === null ? say('handover.fetching') : error.message}</p>
      </section>
    );
  }
  const kinds = new Set(live.value.site?.stations.map(({ kind }) => kind));
  return (
    <article class="section handover">
      <header>
        <h1>{say('handover.title', { site: sheet.site.title })}</h1>
        <p class="num">
          {sheet.shift !== null && `${shiftText(sheet.shift)} · `}
          {day(sheet.atMs)} {clockFrom(sheet.atMs, sheet.atMs)} ({sheet.site.timeZone}){' '}
          {sheet.site.demo && <b class="demo">{say('app.demo')}</b>}
        </p>
      </header>
      <InStations sheet={sheet} />
      <Held sheet={sheet} />
      <CallsLeft sheet={sheet} />
      <Lists sheet={sheet} />
      <ReadBy sheet={sheet} />
      <CheckpointSlip version={sheet.upToN} />
      <SafetyNote kind={kinds.has('press') ? 'press' : 'oven'} />
    </article>
  );
}
