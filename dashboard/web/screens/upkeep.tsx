import { useComputed } from '@preact/signals';
import type { HealthNow } from '@setwell/shared-models/api/health';
import { useAsked } from '../asked.ts';
import { say } from '../language.ts';
import { site, wallNowMs } from '../live.ts';
import { me } from '../people/me.ts';
import { clockFrom } from '../phrase.ts';
import { doText, firstLine, upkeepRows, versionName, type UpkeepRow } from './upkeep-rows.ts';
import './upkeep.css';

const everyMs = 3_000;

/** Whether the record goes on being made and can be found again: one line first, then what it rests on. */
export function UpkeepScreen() {
  const turn = useComputed(() => Math.floor(wallNowMs.value / everyMs));
  const { value: health, error } = useAsked<HealthNow>('/health', turn.value);
  return (
    <div class="upkeep">
      <section class="section">
        <h1>{say('upkeep.title')}</h1>
        {error !== null && <p class="refused">{error.message}</p>}
        {health !== null && <State health={health} />}
        {me.value?.plainHttp === true && <p>{say('upkeep.plainHttp')}</p>}
      </section>
      {health !== null && <GoBack health={health} />}
    </div>
  );
}

function State({ health }: { health: HealthNow }) {
  const rows = upkeepRows(health, site.value?.demo ?? false);
  const wrong = rows.filter((row) => row.wrong.length > 0);
  const open = rows.filter(({ isOpen }) => isOpen);
  return (
    <>
      <p class="first-line">{firstLine(health)}</p>
      <p>
        {wrong.length > 0
          ? say('upkeep.needs', { n: wrong.length, all: rows.length })
          : open.length === 0 && say('upkeep.allWell')}{' '}
        {open.length > 0 && say('upkeep.open', { n: open.length, all: rows.length })}
      </p>
      <ul class="upkeep-rows">
        {rows.map((row) => (
          <Row key={row.key} row={row} />
        ))}
      </ul>
    </>
  );
}

function Row({ row }: { row: UpkeepRow }) {
  const isWrong = row.wrong.length > 0;
  const [sign, state] = isWrong
    ? (['!', 'upkeep.false'] as const)
    : row.isOpen
      ? (['–', 'upkeep.notYet'] as const)
      : (['✓', 'upkeep.well'] as const);
  return (
    <li class={isWrong ? 'needs' : ''} data-row={row.key} data-well={!isWrong} data-state={sign}>
      <h2>{row.what}</h2>
      <p class="state">
        <span aria-hidden="true">{sign}</span>
        {say(state)}
      </p>
      <div>
        {row.how.map((line) => (
          <p key={line}>{line}</p>
        ))}
        {row.wrong.map((condition) => (
          <p key={`${condition.code} ${condition.subject}`}>
            <b>{doText(condition)}</b>
          </p>
        ))}
      </div>
    </li>
  );
}

/** What an update can be taken back to, and how: it is done on the box, by whoever may touch it. */
function GoBack({ health: { upkeep, nowMs } }: { health: HealthNow }) {
  const [, before] = upkeep.versions;
  return (
    <section class="section">
      <h2>{say('upkeep.back')}</h2>
      {before === undefined ? (
        <p>{say('upkeep.backNone')}</p>
      ) : (
        <>
          <p>
            {say('upkeep.backWhat', {
              version: versionName(before),
              when: clockFrom(before.sinceMs, nowMs),
            })}
          </p>
          <p>{say('upkeep.backLoses')}</p>
          <p>{say(before.commit === null ? 'upkeep.backFolder' : 'upkeep.backCommit')}</p>
          {before.commit !== null && (
            <pre class="commands" tabIndex={0}>
              {`systemctl stop setwell\ngit checkout ${before.commit}\nsystemctl start setwell`}
            </pre>
          )}
        </>
      )}
    </section>
  );
}
