import type { PointDetail } from '@setwell/shared-models/api/points';
import { useState } from 'preact/hooks';
import { shownDifference } from '../degrees.ts';
import { Field, TextField } from '../field.tsx';
import { say } from '../language.ts';
import { nowMs } from '../live.ts';
import { differenceUnit, isoDay } from '../phrase.ts';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';

/** One row of a certificate as it is typed: at, correction, expanded uncertainty. */
type Row = [string, string, string];

const empty: Row = ['', '', ''];
/** A certificate of one point corrects nothing between. */
const leastRows = 2;
const mostRows = 12;
const dayMs = 86_400_000;

const numberOf = (text: string): number => Number(text.trim().replace(',', '.').replace('−', '-'));

function rowsOf(rows: readonly Row[]) {
  return rows
    .filter((row) => row.some((cell) => cell.trim() !== ''))
    .map(([at, correction, expanded]) => ({
      atC: numberOf(at),
      correctionK: numberOf(correction),
      expandedK: numberOf(expanded),
    }));
}

function RowsField({
  title,
  rows,
  set,
}: {
  title: string;
  rows: Row[];
  set: (rows: Row[]) => void;
}) {
  const heads = ['at', 'correction', 'expanded'] as const;
  const put = (row: number, column: number, text: string) =>
    set(
      rows.map((each, i) =>
        i === row ? (each.map((cell, j) => (j === column ? text : cell)) as Row) : each,
      ),
    );
  return (
    <fieldset class="certificate-rows">
      <legend>{title}</legend>
      {rows.map((row, i) => (
        <div key={i} class="fields">
          {heads.map((head, j) => (
            <TextField
              key={head}
              label={say(`papers.${head}`)}
              inputMode="decimal"
              value={row[j]}
              aria-label={`${title} ${i + 1}: ${say(`papers.${head}`)}`}
              set={(text) => put(i, j, text)}
            />
          ))}
        </div>
      ))}
      {rows.length < mostRows && (
        <button type="button" onClick={() => set([...rows, empty])}>
          {say('papers.row')}
        </button>
      )}
    </fieldset>
  );
}

/** A certificate, with what was found before it was adjusted. Always in °C: so it stands on the paper. */
function Certificate({ instrument, done }: { instrument: string; done: () => void }) {
  const [certificate, setCertificate] = useState('');
  const [date, setDate] = useState(isoDay(nowMs.value));
  const [due, setDue] = useState(isoDay(nowMs.value + 365 * dayMs));
  const [points, setPoints] = useState<Row[]>(Array.from({ length: leastRows }, () => empty));
  const [found, setFound] = useState<Row[]>([empty]);
  const { sent, send } = useSending();
  const asFound = rowsOf(found);
  const submit = () => {
    const calibration = {
      ...{ certificate: certificate.trim(), date, due, k: 2, points: rowsOf(points) },
      ...(asFound.length === 0 ? {} : { asFound }),
    };
    const address = `/instruments/${encodeURIComponent(instrument)}/calibration`;
    send(address, { calibration }, say('papers.recorded'), done);
  };
  return (
    <form
      class="papers"
      onSubmit={(event) => {
        event.preventDefault();
        submit();
      }}
    >
      <div class="fields">
        <TextField
          label={say('papers.number')}
          required
          value={certificate}
          maxLength={80}
          set={setCertificate}
        />
        <TextField label={say('papers.date')} type="date" required value={date} set={setDate} />
        <TextField label={say('papers.due')} type="date" required value={due} set={setDue} />
      </div>
      <RowsField title={say('papers.points')} rows={points} set={setPoints} />
      <RowsField title={say('papers.asFound')} rows={found} set={setFound} />
      <small>{say('papers.asFound.hint')}</small>
      <button disabled={sent.state === 'sending' || sent.state === 'done'}>
        {say('papers.record')}
      </button>
      <Told sent={sent} />
    </form>
  );
}

/**
 * Another point stands in for this one while it is being repaired; a person answers for the offset.
 *
 * Longer than the limit because it is one form: a field after the other, then what they send.
 */
export function StandIn({
  point,
  others,
  done,
}: {
  point: string;
  others: readonly string[];
  done: () => void;
}) {
  const [standsIn, setStandsIn] = useState(others[0] ?? '');
  const [offset, setOffset] = useState('0');
  const [expanded, setExpanded] = useState('');
  const [days, setDays] = useState('7');
  const [reason, setReason] = useState('');
  const { sent, send } = useSending();
  const kOf = (text: string) => numberOf(text) / shownDifference(1);
  const submit = () => {
    const untilMs = Math.round(nowMs.value + numberOf(days) * dayMs);
    const body = { standsIn, offsetK: kOf(offset), expandedK: kOf(expanded), untilMs, reason };
    send(`/points/${encodeURIComponent(point)}/fallback`, body, say('papers.recorded'), done);
  };
  return (
    <form
      class="papers"
      onSubmit={(event) => {
        event.preventDefault();
        submit();
      }}
    >
      <div class="fields">
        <Field label={say('papers.standsIn')}>
          <select value={standsIn} onChange={(event) => setStandsIn(event.currentTarget.value)}>
            {others.map((each) => (
              <option key={each}>{each}</option>
            ))}
          </select>
        </Field>
        <TextField
          label={say('papers.offset', { unit: differenceUnit() })}
          inputMode="decimal"
          required
          value={offset}
          set={setOffset}
        />
        <TextField
          label={say('papers.doubt', { unit: differenceUnit() })}
          inputMode="decimal"
          required
          value={expanded}
          set={setExpanded}
        />
        <TextField
          label={say('papers.days')}
          inputMode="numeric"
          required
          value={days}
          set={setDays}
        />
        <TextField
          label={say('change.reason')}
          required
          value={reason}
          maxLength={500}
          set={setReason}
        />
      </div>
      <button disabled={sent.state === 'sending' || sent.state === 'done'}>
        {say('papers.standIn')}
      </button>
      <Told sent={sent} />
    </form>
  );
}

/** The certificate that came back, and the point that stands in meanwhile. */
export function SensorPapers({
  point,
  others,
  done,
}: {
  point: PointDetail;
  others: readonly string[];
  done: () => void;
}) {
  const [open, setOpen] = useState<'certificate' | 'stand-in' | null>(null);
  const instrument = point.fitted?.instrument ?? null;
  const turn = (what: 'certificate' | 'stand-in') => setOpen(open === what ? null : what);
  return (
    <section class="section">
      <h2>{say('papers.title')}</h2>
      <div class="acts-row">
        {instrument !== null && (
          <button aria-expanded={open === 'certificate'} onClick={() => turn('certificate')}>
            {say('papers.certificate', { instrument })}
          </button>
        )}
        {others.length > 0 && (
          <button aria-expanded={open === 'stand-in'} onClick={() => turn('stand-in')}>
            {say('papers.standIn')}…
          </button>
        )}
      </div>
      {open === 'certificate' && instrument !== null && (
        <Certificate instrument={instrument} done={done} />
      )}
      {open === 'stand-in' && <StandIn point={point.point} others={others} done={done} />}
    </section>
  );
}
