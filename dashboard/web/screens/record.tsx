import { useState } from 'preact/hooks';
import type { Trail } from '@setwell/shared-models/api/records';
import { verdictToken } from '@setwell/shared-models/api/floor';
import { actsDone } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { Sign } from '../cure/sign.tsx';
import { rowMs } from '../live.ts';
import { Field } from '../field.tsx';
import { say } from '../language.ts';
import { clockFrom } from '../phrase.ts';
import { CheckpointSlip } from '../record/checkpoint-slip.tsx';
import { TakeAway } from '../record/take-away.tsx';
import { RetentionPart } from '../record/retention-part.tsx';
import { entrySentence } from '../record/entry-sentence.ts';
import { loadAddress } from '../route.ts';
import '../style/records.css';

/** One lot as the auditor reads it: its file to take away, as of any entry, and its trail in sentences. */
export function RecordScreen({ name }: { name: string }) {
  const [asOf, setAsOf] = useState<number | null>(null);
  const asked = new URLSearchParams({ lot: name });
  if (asOf !== null) asked.set('asOf', String(asOf));
  const { value, error } = useAsked<Trail>(`/records/trail?${asked.toString()}`, actsDone.value);
  return (
    <article>
      <section class="section">
        <h1 class="id">{say('record.title', { lot: name })}</h1>
        <TakeAway lot={name} />
        <div class="acts-row">
          <a class="button" href={`/lots/${encodeURIComponent(name)}`}>
            {say('record.toLot')}
          </a>
        </div>
        {error !== null && <p class="refused">{error.message}</p>}
      </section>
      <section class="section">
        <h2>{say('record.check')}</h2>
        <ol>
          <li>{say('record.check.hand')}</li>
          <li>
            {say('record.check.own')}{' '}
            <code>{`setwell verify ${name}.bundle.zip --key key.txt --since checkpoint.txt`}</code>
          </li>
          <li>{say('record.check.sheet')}</li>
        </ol>
        <p>
          <b>{say('record.cannot')}</b>
        </p>
        <CheckpointSlip version={actsDone.value} />
      </section>
      <RetentionPart lot={name} />
      {value !== null && <AsOf trail={value} asOf={asOf} onAsOf={setAsOf} />}
    </article>
  );
}

function AsOf({
  trail,
  asOf,
  onAsOf,
}: {
  trail: Trail;
  asOf: number | null;
  onAsOf: (n: number | null) => void;
}) {
  const nowMs = rowMs.value;
  const { entries, file } = trail;
  const first = entries[0]?.n ?? 0;
  const last = entries.at(-1)?.n ?? 0;
  const shown = asOf ?? last;
  const entry = entries.filter(({ n }) => n <= shown).at(-1);
  return (
    <>
      <section class="section">
        <h2>
          {asOf === null
            ? say('record.now')
            : say('record.asOf', { n: shown, when: clockFrom(entry?.at ?? nowMs, nowMs) })}
        </h2>
        <Field label={say('record.asOfField', { first, last })}>
          <input
            class="as-of"
            type="number"
            min={first}
            max={last}
            value={shown}
            onChange={(event) => {
              const n = Math.trunc(Number(event.currentTarget.value));
              onAsOf(n >= first && n < last ? n : null);
            }}
          />
        </Field>
        {file === null ? (
          <p>{say('record.nothingYet')}</p>
        ) : (
          <ul class="accounts">
            {file.loads.map((load) => {
              const token = verdictToken(load);
              return (
                <li key={load.load}>
                  <span class="with-sign">
                    <Sign token={token} />
                    <b>{say(`verdict.${token}`)}</b>
                  </span>{' '}
                  <a class="id" href={loadAddress(load.load)}>
                    {load.load}
                  </a>{' '}
                  {load.revision === null
                    ? say('record.notSealed')
                    : say('record.account', { n: load.revision })}
                </li>
              );
            })}
          </ul>
        )}
        {file !== null && <p>{say(`record.state.${file.state}`)}</p>}
      </section>
      <Sentences entries={entries} shown={shown} />
    </>
  );
}

function Sentences({ entries, shown }: { entries: Trail['entries']; shown: number }) {
  return (
    <section class="section">
      <h2>
        {say('record.trail')} {entries.length}
      </h2>
      <ol class="trail">
        {entries.map((each) => (
          <li key={each.n} class={each.n > shown ? 'later' : ''}>
            {entrySentence(each)}
            {each.n > shown ? ` ${say('record.later')}` : ''}
          </li>
        ))}
      </ol>
    </section>
  );
}
