import { useState } from 'preact/hooks';
import type {
  Completeness,
  Newest,
  RecordRow,
  RecordSample,
  RecordsFound,
} from '@setwell/shared-models/api/records';
import { hotAboveC, type HourState } from '@setwell/shared-models/record/completeness';
import type { Entry } from '@setwell/shared-models/record/entry';
import { verdictToken } from '@setwell/shared-models/api/floor';
import { useAsked } from '../asked.ts';
import { Sign } from '../cure/sign.tsx';
import { live, rowMs } from '../live.ts';
import { Field, TextField } from '../field.tsx';
import { say } from '../language.ts';
import { clockFrom, dateText, isoDay, temperatureText } from '../phrase.ts';
import { entrySentence } from '../record/entry-sentence.ts';
import { SettingsAtEnd } from '../record/settings-at-end.tsx';
import { loadAddress } from '../route.ts';
import '../style/records.css';

const dayMs = 86_400_000;
const daysAtFirst = 7;
const rowsAtFirst = 20;

/** The signs of an hour: told apart by shape and letter, not by colour. */
const hourSigns: Record<HourState, string> = {
  load: '■',
  heating: '+',
  hot: '!',
  empty: '·',
  'out-of-service': '×',
  read: '–',
  'no-readings': '?',
};

function Rows({ rows, name }: { rows: readonly RecordRow[]; name: string }) {
  const [all, setAll] = useState(false);
  const nowMs = rowMs.value;
  const shown = all ? rows : rows.slice(0, rowsAtFirst);
  return (
    <>
      <div class="table-wide" tabIndex={0} role="region" aria-label={name}>
        <table class="stacking">
          <thead>
            <tr>
              <th>{say('records.col.load')}</th>
              <th>{say('records.col.verdict')}</th>
              <th>{say('records.col.lot')}</th>
              <th>{say('records.col.station')}</th>
              <th>{say('records.col.start')}</th>
              <th>{say('records.col.recipe')}</th>
              <th class="right">{say('records.col.accounts')}</th>
            </tr>
          </thead>
          <tbody>
            {shown.map((row) => {
              const token = verdictToken({ ...row, side: null });
              return (
                <tr key={row.load}>
                  <td>
                    <a class="id" href={loadAddress(row.load)}>
                      {row.load}
                    </a>
                  </td>
                  <td>
                    <span class="with-sign">
                      <Sign token={token} />
                      {say(`verdict.${token}`)}
                    </span>
                  </td>
                  <td>
                    <a class="id" href={`/records/${encodeURIComponent(row.lot)}`}>
                      {row.lot}
                    </a>
                  </td>
                  <td class="id" data-col={say('records.col.station')}>
                    {row.station}
                  </td>
                  <td class="id" data-col={say('records.col.start')}>
                    {clockFrom(row.startMs, nowMs)}
                  </td>
                  <td class="id" data-col={say('records.col.recipe')}>
                    {row.recipe ?? '–'}
                  </td>
                  <td class="right id" data-col={say('records.col.accounts')}>
                    {row.revisions}
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </div>
      {shown.length < rows.length && (
        <button class="button" type="button" onClick={() => setAll(true)}>
          {say('records.showAll', { n: rows.length })}
        </button>
      )}
    </>
  );
}

function Search({ from, to }: { from: number; to: number }) {
  const [text, setText] = useState('');
  const asked = new URLSearchParams({ from: String(from), to: String(to), text });
  const { value, error } = useAsked<RecordsFound>(`/records?${asked.toString()}`, 0);
  return (
    <section class="section">
      <h2>{say('records.search')}</h2>
      <TextField
        label={say('records.searchField')}
        type="search"
        value={text}
        maxLength={120}
        set={setText}
      />
      {error !== null && <p class="refused">{error.message}</p>}
      {value !== null && (
        <p role="status">
          {say('records.foundOf', { n: value.rows.length, of: value.lookedAt })}
          {value.isCut ? ` ${say('records.cut')}` : ''}
        </p>
      )}
      {value !== null && value.rows.length > 0 && (
        <Rows rows={value.rows} name={say('records.found')} />
      )}
    </section>
  );
}

const hourText = (state: HourState): string =>
  say(`records.hour.${state}`, { hot: temperatureText(hotAboveC, 0) });

/** 05:00, of an hour in UTC. */
const utcHour = (ms: number): string => new Date(ms).toISOString().slice(11, 16);

/** How many hours in a row have one name. */
function runsOf(hours: readonly { fromMs: number }[], nameOf: (ms: number) => string) {
  const runs: { name: string; fromMs: number; hours: number }[] = [];
  for (const { fromMs } of hours) {
    const name = nameOf(fromMs);
    const last = runs.at(-1);
    if (last?.name === name) last.hours += 1;
    else runs.push({ name, fromMs, hours: 1 });
  }
  return runs;
}

/** The quarter of its day that an hour lies in. */
const quarterOf = (ms: number): string =>
  `${isoDay(ms)} ${String(Math.floor(new Date(ms).getUTCHours() / 6))}`;

function Hours({ stations }: { stations: Completeness['stations'] }) {
  const [first] = stations;
  if (first === undefined) return null;
  return (
    <>
      <h3>{say('records.hours')}</h3>
      <p>
        {(Object.keys(hourSigns) as HourState[]).map((state) => (
          <span key={state} class="hour-key">
            <b class={`hour hour-${state}`}>{hourSigns[state]}</b> {hourText(state)}
          </span>
        ))}
      </p>
      <div class="table-wide" tabIndex={0} role="region" aria-label={say('records.hours')}>
        <table class="hours">
          <thead>
            <tr>
              <th rowSpan={2}>{say('records.col.station')}</th>
              {runsOf(first.hours, isoDay).map(({ name, hours }) => (
                <th key={name} colSpan={hours}>
                  {name} UTC
                </th>
              ))}
            </tr>
            <tr>
              {runsOf(first.hours, quarterOf).map(({ name, fromMs, hours }) => (
                <th key={name} colSpan={hours}>
                  {utcHour(fromMs)}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {stations.map(({ station, hours }) => (
              <tr key={station}>
                <th class="id">{station}</th>
                {hours.map(({ fromMs, state, loads, greatestC }) => {
                  const told = [
                    `${station}, ${isoDay(fromMs)} ${utcHour(fromMs)} UTC: ${hourText(state)}`,
                    ...loads,
                    ...(greatestC === null ? [] : [temperatureText(greatestC, 0)]),
                  ].join(', ');
                  return (
                    <td key={fromMs} class={`hour hour-${state}`} title={told}>
                      <span aria-hidden="true">{hourSigns[state]}</span>
                      <span class="visually-hidden">{told}</span>
                    </td>
                  );
                })}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </>
  );
}

/** How many there are, and whether all of them are shown. */
function Counted({ title, of: { rows, count, isCut } }: { title: string; of: Newest<unknown> }) {
  return (
    <>
      <h3>
        {title} {count}
      </h3>
      {isCut && <p>{say('records.newestOf', { n: rows.length, of: count })}</p>}
    </>
  );
}

function Entries({ title, of }: { title: string; of: Newest<Entry> }) {
  const entries = of.rows;
  return (
    <>
      <Counted title={title} of={of} />
      {entries.length === 0 ? (
        <p>{say('records.none')}</p>
      ) : (
        <ol class="trail">
          {entries.map((entry) => (
            <li key={`${entry.log} ${entry.n}`}>{entrySentence(entry)}</li>
          ))}
        </ol>
      )}
    </>
  );
}

function Complete({ from, to }: { from: number; to: number }) {
  const asked = `/records/completeness?from=${from}&to=${to}`;
  const { value, error } = useAsked<Completeness>(asked, 0);
  return (
    <section class="section">
      <h2>{say('records.complete')}</h2>
      {error !== null && <p class="refused">{error.message}</p>}
      {value === null && error === null && <p>…</p>}
      {value !== null && (
        <>
          <h3>{say('records.numbers')}</h3>
          <ul>
            {value.numbers.map(({ series, from: first, to: last, seen, missing, missingCount }) => (
              <li key={series}>
                <span class="id">
                  {first} – {last}
                </span>
                :{' '}
                {missingCount === 0 ? (
                  say('records.noGap', { n: seen })
                ) : (
                  <b>{say('records.gap', { n: missingCount, which: missing.join(', ') })}</b>
                )}
              </li>
            ))}
          </ul>
          <Hours stations={value.stations} />
          <Counted title={say('records.notInWindow')} of={value.notInWindow} />
          {value.notInWindow.count > 0 && (
            <Rows rows={value.notInWindow.rows} name={say('records.notInWindow')} />
          )}
          <Entries title={say('records.exceptions')} of={value.exceptions} />
          <Entries title={say('records.settings')} of={value.settings} />
          <SettingsAtEnd then={value.then} day={isoDay(to)} />
        </>
      )}
    </section>
  );
}

function Sample({ from, to }: { from: number; to: number }) {
  const [seed, setSeed] = useState('');
  const [drawn, setDrawn] = useState<string | null>(null);
  return (
    <section class="section">
      <h2>{say('records.sample')}</h2>
      <p>{say('records.sampleHelp')}</p>
      <form
        class="acts-row"
        onSubmit={(event) => {
          event.preventDefault();
          setDrawn(seed.trim() === '' ? null : seed.trim());
        }}
      >
        <TextField
          label={say('records.seed')}
          value={seed}
          maxLength={120}
          required
          set={setSeed}
        />
        <button class="button main" type="submit">
          {say('records.draw')}
        </button>
      </form>
      {drawn !== null && <Drawn seed={drawn} from={from} to={to} />}
    </section>
  );
}

function Drawn({ seed, from, to }: { seed: string; from: number; to: number }) {
  const asked = new URLSearchParams({ from: String(from), to: String(to), seed, count: '20' });
  const { value, error } = useAsked<RecordSample>(`/records/sample?${asked.toString()}`, 0);
  if (error !== null) return <p class="refused">{error.message}</p>;
  if (value === null) return <p>…</p>;
  return (
    <>
      <p role="status">{say('records.drawn', { n: value.rows.length, of: value.of, seed })}</p>
      <Rows rows={value.rows} name={say('records.sample')} />
    </>
  );
}

/** The auditor's questions: what is there, is it all there, and which twenty shall I look at? */
export function RecordsScreen() {
  const nowMs = rowMs.value;
  const [period, setPeriod] = useState<{ from: string; to: string } | null>(null);
  if (live.value.site === null) return <p class="pad">…</p>;
  const shown = period ?? { from: isoDay(nowMs - daysAtFirst * dayMs), to: isoDay(nowMs) };
  const from = Date.parse(`${shown.from}T00:00:00Z`);
  const to = Date.parse(`${shown.to}T00:00:00Z`) + dayMs - 1;
  const change = (part: 'from' | 'to') => (event: { currentTarget: HTMLInputElement }) => {
    if (event.currentTarget.value !== '') {
      setPeriod({ ...shown, [part]: event.currentTarget.value });
    }
  };
  const isPeriod = from <= to;
  return (
    <>
      <section class="section">
        <h1>{say('records.title')}</h1>
        <p>{say('records.what')}</p>
        <div class="acts-row">
          <Field label={say('records.from')}>
            <input type="date" value={shown.from} onChange={change('from')} />
          </Field>
          <Field label={say('records.to')}>
            <input type="date" value={shown.to} onChange={change('to')} />
          </Field>
        </div>
        {isPeriod && (
          <p>
            <a class="button" download href={`/api/v1/records/period?from=${from}&to=${to + 1}`}>
              {say('records.takePeriod')}
            </a>{' '}
            <span class="soft">{say('records.takePeriodMore')}</span>
          </p>
        )}
        {!isPeriod && <p class="refused">{say('records.badPeriod')}</p>}
        <p class="soft">
          {say('records.days', { from: dateText(shown.from), to: dateText(shown.to) })}
        </p>
      </section>
      {isPeriod && (
        <>
          <Search from={from} to={to} />
          <Complete from={from} to={to} />
          <Sample from={from} to={to} />
        </>
      )}
    </>
  );
}
