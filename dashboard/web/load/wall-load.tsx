import type { LoadDetail } from '@setwell/shared-models/api/dashboard';
import { loadSlot, verdictToken } from '@setwell/shared-models/api/floor';
import { CureBar } from '../cure/cure-bar.tsx';
import { Sign } from '../cure/sign.tsx';
import { WallFoot } from '../floor/wall-foot.tsx';
import { calls, rowMs, staleSinceMs } from '../live.ts';
import { say } from '../language.ts';
import { clockFrom, placeText, slotText } from '../phrase.ts';
import { LayupCut } from './layup-cut.tsx';
import { useTrace } from './pictures.tsx';
import { head, moreClauses, verdictClause } from './sentence.tsx';

/** What the word and the minutes do not say: the plan, and how it ended. */
function saidBeside(detail: LoadDetail, nowMs: number): string {
  const { load } = detail;
  const isTold = load.state === 'open' && load.recipe !== null;
  return [...(isTold ? [] : [verdictClause(detail, nowMs)]), ...moreClauses(load, nowMs)].join(' ');
}

/** One picture: where the cure is least, in the board as it lies. */
function WorstPlace({ detail }: { detail: LoadDetail }) {
  const { load } = detail;
  const { trace } = useTrace(load, null, null);
  const hasCut = trace?.section !== null && trace !== null && load.worst !== null;
  if (hasCut) return <LayupCut trace={trace} detail={detail} />;
  return load.worst === null ? null : <p class="worst-place">{placeText(load.worst)}</p>;
}

/** The screen beside a press, read at three metres: verdict, minutes, bar, and the place that decides. */
export function WallLoad({ detail }: { detail: LoadDetail }) {
  const { load } = detail;
  const nowMs = rowMs.value;
  const token = verdictToken(load);
  const dashed = load.blindSinceMs !== null || staleSinceMs.value !== null;
  const called = calls.value.some((call) => call.load === load.load);
  const minutes =
    load.state === 'open'
      ? slotText(loadSlot(load, nowMs), nowMs)
      : say('picture.until', { clock: clockFrom(load.endMs ?? load.asOfMs, nowMs) });
  return (
    <>
      <article class={called ? 'wall-load called' : 'wall-load'}>
        <h1>{head(load)}</h1>
        <div class="wall-verdict">
          <Sign token={token} dashed={dashed} />
          <span class="word">{say(`verdict.${token}`)}</span>
          <span class="mins num">{minutes}</span>
        </div>
        {load.worst !== null && load.window !== null && (
          <div class="wall-bar">
            <CureBar
              place={load.worst}
              window={load.window}
              unit={load.unit}
              token={token}
              dashed={dashed}
              labelled
            />
          </div>
        )}
        <p class="wall-more num">{saidBeside(detail, nowMs)}</p>
        {load.worst !== null && <WorstPlace detail={detail} />}
      </article>
      <WallFoot />
    </>
  );
}
