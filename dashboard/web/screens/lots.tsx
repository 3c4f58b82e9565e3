import { useState } from 'preact/hooks';
import { useComputed } from '@preact/signals';
import type { LotRow } from '@setwell/shared-models/api/dashboard';
import { verdictToken, type VerdictToken } from '@setwell/shared-models/api/floor';
import { useAsked } from '../asked.ts';
import { Sign } from '../cure/sign.tsx';
import { live, rowMs } from '../live.ts';
import { TextField } from '../field.tsx';
import { say } from '../language.ts';
import { clockFrom } from '../phrase.ts';

const lotsShown = 300;

/** The worst of a lot's ended loads; the running one where all that ended are in their window. */
function tokenOf(lot: LotRow): VerdictToken {
  if (lot.under > 0) return 'under';
  if (lot.over > 0) return 'over';
  if (lot.unproven > 0) return 'unproven';
  if (lot.open === 0) return 'in-window';
  const running = Object.values(live.value.loads).filter(
    (load) => load.lot === lot.lot && load.state === 'open',
  );
  const tokens = running.map(verdictToken);
  return (
    tokens.find((token) => token !== 'in-window') ?? (tokens.length > 0 ? 'in-window' : 'not-yet')
  );
}

function LotTable({ title, lots }: { title: string; lots: LotRow[] }) {
  if (lots.length === 0) return null;
  const nowMs = rowMs.value;
  return (
    <section class="section">
      <h2>{title}</h2>
      <table class="lots stacking">
        <thead>
          <tr>
            <th class="col-lot">{say('lots.col.lot')}</th>
            <th class="col-state">{say('lots.col.state')}</th>
            <th>{say('lots.col.loads')}</th>
            <th class="hide-narrow">{say('lots.col.last')}</th>
            <th class="hide-narrow">{say('lots.col.stations')}</th>
          </tr>
        </thead>
        <tbody>
          {lots.map((lot) => {
            const token = tokenOf(lot);
            return (
              <tr key={lot.lot}>
                <td>
                  <a class="id" href={`/lots/${encodeURIComponent(lot.lot)}`}>
                    {lot.lot}
                  </a>
                </td>
                <td>
                  <span class="with-sign">
                    <Sign token={token} />
                    {say(`verdict.${token}`)}
                  </span>
                </td>
                <td>
                  {lot.loads === 1
                    ? say('lots.loads.one')
                    : say('lots.loads.more', { n: lot.loads })}
                </td>
                <td class="hide-narrow id">{clockFrom(lot.lastMs, nowMs)}</td>
                <td class="hide-narrow">{lot.stations.join(', ')}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </section>
  );
}

/** Lots by what must happen, not from A to Z. */
export function LotsScreen() {
  const [text, setText] = useState('');
  const version = useComputed(() =>
    Object.values(live.value.loads)
      .map(({ load, state }) => `${load}${state}`)
      .join(),
  );
  const { value, error } = useAsked<{ lots: LotRow[] }>(`/lots?limit=${lotsShown}`, version.value);
  const wanted = text.trim().toLowerCase();
  const lots = (value?.lots ?? []).filter(({ lot }) => lot.toLowerCase().includes(wanted));
  const held = lots.filter((lot) => lot.held > 0);
  const work = lots.filter((lot) => lot.held === 0 && lot.open > 0);
  const done = lots.filter((lot) => lot.held === 0 && lot.open === 0);
  return (
    <>
      <section class="section">
        <h1>{say('lots.title')}</h1>
        {error !== null && <p class="refused">{error.message}</p>}
        {value !== null && value.lots.length === 0 && (
          <p>
            {say('lots.none')} <a href="/start">{say('nav.start')}</a>
          </p>
        )}
        {value !== null && value.lots.length > 0 && (
          <TextField
            label={say('lots.find')}
            type="search"
            value={text}
            maxLength={120}
            set={setText}
          />
        )}
        {wanted !== '' && value !== null && lots.length === 0 && (
          <p role="status">{say('lots.nothingFound', { text: text.trim() })}</p>
        )}
      </section>
      <LotTable title={say('lots.held', { n: held.length })} lots={held} />
      <LotTable title={say('lots.work', { n: work.length })} lots={work} />
      <LotTable title={say('lots.done', { n: done.length })} lots={done} />
    </>
  );
}
