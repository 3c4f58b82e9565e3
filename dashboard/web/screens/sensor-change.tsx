import { useRef, useState } from 'preact/hooks';
import type { PointNow } from '@setwell/shared-models/api/collector';
import type { PointDetail, PointFitted } from '@setwell/shared-models/api/points';
import { findIt, movedSince } from '@setwell/shared-models/metrology/find-it';
import { useAsked } from '../asked.ts';
import { Field, TextField } from '../field.tsx';
import { say } from '../language.ts';
import { differenceText, signedDifference } from '../phrase.ts';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';

/** What is fitted elsewhere is asked anew so seldom. */
const turnsOfFittings = 15;

interface ChangeParts {
  point: PointDetail;
  /** Grows whenever values are to be asked anew. */
  turn: number;
  done: () => void;
}

/** A change, step by step: out of service, new element, warm by hand, wire proven, in service. */
export function SensorChange({ point, turn, done }: ChangeParts) {
  // Longer than the limit because it is one way: step after step in the order they are gone.
  const sending = useSending();
  const [reason, setReason] = useState('');
  const send = (path: string, body: object) => {
    const address = `/points/${encodeURIComponent(point.point)}/${path}`;
    sending.send(address, body, say('papers.recorded'), done);
  };
  // Of the whole plant, so not at every turn.
  const fittings = useAsked<{ points: PointFitted[] }>(
    '/instruments',
    `${point.point} ${point.fitted?.instrument} ${Math.floor(turn / turnsOfFittings)}`,
  );
  const known = new Map(
    (fittings.value?.points ?? []).flatMap(({ point: where, fitted: there }) =>
      there === null ? [] : [[there.instrument, where] as const],
    ),
  );
  const { fitted, withdrawn } = point;
  return (
    <section class="section">
      <h2>{say('change.title')}</h2>
      <Told sent={sending.sent} />
      <ol class="change-steps">
        <li>
          <h3>{say('change.out')}</h3>
          {withdrawn === null ? (
            <OutOfService
              reason={reason}
              say={setReason}
              withdraw={() => send('withdraw', { untilMs: null, reason })}
            />
          ) : (
            <p>{say('change.isOut')}</p>
          )}
        </li>
        <li>
          <h3>{say('change.element')}</h3>
          {fitted !== null && (
            <p>
              <button
                disabled={reason.trim() === '' && withdrawn === null}
                onClick={() => send('remove', { reason: withdrawn?.reason ?? reason })}
              >
                {say('change.remove', { instrument: fitted.instrument })}
              </button>
            </p>
          )}
          <NewElement
            point={point.point}
            known={known}
            fit={(instrument) => send('fit', { instrument, proof: null })}
          />
        </li>
        <li>
          <h3>{say('change.warm')}</h3>
          <FindIt
            asked={point.point}
            turn={turn}
            prove={() => send('prove', { proof: { how: 'warmed-by-hand', note: '' } })}
          />
        </li>
        <li>
          <h3>{say('change.in')}</h3>
          {fitted !== null && !fitted.proven && <p>{say('sensor.notProven')}</p>}
          <button disabled={withdrawn === null} onClick={() => send('restore', {})}>
            {say('change.restore')}
          </button>
        </li>
      </ol>
    </section>
  );
}

interface OutOfServiceParts {
  reason: string;
  say: (reason: string) => void;
  withdraw: () => void;
}

function OutOfService({ reason, say: tell, withdraw }: OutOfServiceParts) {
  return (
    <div class="fields">
      <TextField label={say('change.reason')} value={reason} maxLength={500} set={tell} />
      <button disabled={reason.trim() === ''} onClick={withdraw}>
        {say('change.withdraw')}
      </button>
    </div>
  );
}

const types = ['Pt100', 'Pt1000', 'K', 'J', 'T', 'N'];
const isResistance = (type: string) => type.startsWith('Pt');

/**
 * A new instrument, or one the plant has already: it is named, and leaves wherever it was.
 *
 * Longer than the limit because it is one form: a field after the other, then what they send.
 */
function NewElement({
  point,
  known,
  fit,
}: {
  point: string;
  /** By name, and the point each is fitted at now. */
  known: ReadonlyMap<string, string>;
  fit: (instrument: object | string) => void;
}) {
  const [id, setId] = useState('');
  const [serial, setSerial] = useState('');
  const [type, setType] = useState('Pt100');
  const [quality, setQuality] = useState('A');
  const classes = isResistance(type) ? ['AA', 'A', 'B', 'C'] : ['1', '2'];
  const at = known.get(id);
  const isName = /^[a-z0-9][a-z0-9._-]{0,63}$/.test(id);
  const instrument = {
    id,
    ...(serial.trim() === '' ? {} : { serial: serial.trim() }),
    element: {
      type,
      class: classes.includes(quality) ? quality : (classes[0] ?? ''),
      standard: isResistance(type) ? 'IEC 60751' : 'IEC 60584-1',
    },
  };
  return (
    <div class="fields">
      <Field label={say('change.instrument')}>
        <input
          value={id}
          maxLength={64}
          list="known-instruments"
          onInput={(event) => setId(event.currentTarget.value)}
        />
        <datalist id="known-instruments">
          {[...known].map(([each, where]) => (
            <option key={each} value={each}>
              {where}
            </option>
          ))}
        </datalist>
      </Field>
      {at === undefined && (
        <>
          <TextField label={say('change.serial')} value={serial} maxLength={80} set={setSerial} />
          <Field label={say('change.type')}>
            <select value={type} onChange={(event) => setType(event.currentTarget.value)}>
              {types.map((each) => (
                <option key={each}>{each}</option>
              ))}
            </select>
          </Field>
          <Field label={say('change.class')}>
            <select value={quality} onChange={(event) => setQuality(event.currentTarget.value)}>
              {classes.map((each) => (
                <option key={each}>{each}</option>
              ))}
            </select>
          </Field>
        </>
      )}
      {at !== undefined && at !== point && (
        <p>{say('change.moves', { instrument: id, point: at })}</p>
      )}
      <button disabled={!isName} onClick={() => fit(at === undefined ? instrument : id)}>
        {say('change.fit')}
      </button>
      {id !== '' && !isName && <p class="refused">{say('change.badName')}</p>}
    </div>
  );
}

interface FindItParts {
  asked: string;
  turn: number;
  prove: () => void;
}

/** Which one moves when a probe is warmed by hand. */
function FindIt({ asked, turn, prove }: FindItParts) {
  const [begun, setBegun] = useState(0);
  return (
    <>
      <p>{say('find.how')}</p>
      <button onClick={() => setBegun((times) => times + 1)}>
        {say(begun === 0 ? 'find.start' : 'find.again')}
      </button>
      {begun > 0 && <Watched key={begun} asked={asked} turn={turn} prove={prove} />}
    </>
  );
}

/** Every point of the plant against what it said when the search began. */
function Watched({ asked, turn, prove }: FindItParts) {
  const told = useAsked<{ points: PointNow[] }>('/points', turn);
  const before = useRef<Map<string, number> | null>(null);
  if (told.value === null) return null;
  const now = new Map(
    told.value.points.flatMap(({ point, last }) =>
      last?.c == null ? [] : [[point, last.c] as const],
    ),
  );
  before.current ??= now;
  const moved = movedSince(before.current, now);
  const found = findIt(asked, moved);
  return (
    <div role="status">
      <p class="find-answer">
        {found.kind === 'itself' &&
          say('find.itself', { point: asked, k: signedDifference(found.changeK) })}
        {found.kind === 'reversed' &&
          say('find.reversed', { point: asked, k: differenceText(-found.changeK) })}
        {found.kind === 'other' &&
          say('find.other', { point: found.point, asked, k: signedDifference(found.changeK) })}
        {found.kind === 'several' && say('find.several', { points: found.points.join(', ') })}
        {found.kind === 'nothing' && say('find.nothing')}
      </p>
      <ul class="find-list">
        {moved.slice(0, 5).map(({ point, changeK }) => (
          <li key={point}>
            <b>{point}</b> {signedDifference(changeK)}
          </li>
        ))}
      </ul>
      <button disabled={found.kind !== 'itself'} onClick={prove}>
        {say('find.prove')}
      </button>
    </div>
  );
}
