import { useComputed } from '@preact/signals';
import type { LotDetail, LotStep } from '@setwell/shared-models/api/dashboard';
import { loadSlot, verdictToken } from '@setwell/shared-models/api/floor';
import { waitsForDecision } from '@setwell/shared-models/record/decisions';
import { unansweredText } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { CoatStackTable } from '../cure/coat-stack.tsx';
import { CureBar } from '../cure/cure-bar.tsx';
import { Sign } from '../cure/sign.tsx';
import { live, rowMs, staleSinceMs } from '../live.ts';
import { say, sayAny } from '../language.ts';
import { lastText } from '../load/decide.tsx';
import { LotParts } from './lot-parts.tsx';
import { may } from '../people/me.ts';
import { CheckpointSlip } from '../record/checkpoint-slip.tsx';
import { TakeAway } from '../record/take-away.tsx';
import { clock, clockFrom, slotText } from '../phrase.ts';
import { loadAddress } from '../route.ts';

/** One step of the lot's way: what it was, when, what is said of its heat. */
function Step({ step }: { step: LotStep }) {
  const shown = live.value.loads[step.load.load] ?? step.load;
  const { load } = step;
  const nowMs = rowMs.value;
  const token = verdictToken(shown);
  const running = shown.state === 'open';
  const stale = staleSinceMs.value !== null || shown.blindSinceMs !== null;
  const kind = sayAny(`station.${step.kind ?? ''}`, load.station);
  const from = clockFrom(load.startMs, nowMs);
  return (
    <li class={running ? (stale ? 'running stale' : 'running') : ''}>
      <div class="step-head">
        <Sign token={token} dashed={running && stale} />
        <a class="id stretched" href={loadAddress(load.load)}>
          {kind} · {load.load}
        </a>
      </div>
      <b>
        {say(`verdict.${token}`)}
        {running ? `: ${slotText(loadSlot(shown, nowMs), nowMs)}` : ''}
      </b>
      <small>
        {running || load.endMs === null
          ? say('lot.verdictOfOpenStep', { kind: load.station, from })
          : say('lot.verdictOfStep', { kind: load.station, from, to: clock(load.endMs) })}
      </small>
      {shown.worst !== null && shown.window !== null && (
        <CureBar
          place={shown.worst}
          window={shown.window}
          unit={shown.unit}
          token={token}
          dashed={running && stale}
          labelled
        />
      )}
      {shown.decisions.last !== null && <small>{lastText(shown.decisions.last, nowMs)}</small>}
      <small>
        {step.revision > 1 ? say('lot.revisions', { n: step.revision }) : ''}
        {step.revision === 0 && !running ? say('lot.noRecord') : ''}
      </small>
    </li>
  );
}

function sentenceOf(detail: LotDetail): string {
  const held = detail.steps.filter(({ load }) => waitsForDecision(load)).length;
  const open = detail.steps.filter(({ load }) => load.state === 'open').length;
  const said: string[] = [];
  if (held > 0) said.push(held === 1 ? say('lot.heldOne') : say('lot.held', { n: held }));
  if (open > 0) said.push(say('lot.work', { n: open }));
  const isHeld = detail.steps.some(({ load }) => load.state === 'open' && load.decisions.hold);
  if (isHeld) said.push(say('lot.heldAlready'));
  if (said.length === 0) {
    const outside = detail.steps.filter(({ load }) => load.verdict !== 'in-window').length;
    said.push(outside > 0 ? say('lot.decided', { n: outside }) : say('lot.done'));
  }
  return said.join(' ');
}

/** Parts with one history have one stack. */
function Coats({ stacks, steps }: { stacks: LotDetail['coats']; steps: LotDetail['steps'] }) {
  if (stacks.length === 0) return null;
  const open = steps.filter(({ load }) => load.state === 'open').map(({ load }) => load.load);
  return (
    <section class="section">
      <h2>{say('coat.stack')}</h2>
      <p class="soft">{say('coat.how')}</p>
      {stacks.map(({ parts, coats }) => (
        <div key={parts?.join() ?? ''} class="coat-stack">
          {parts !== null && stacks.length > 1 && <h3>{partsText(parts)}</h3>}
          <CoatStackTable coats={coats} running={open} />
        </div>
      ))}
    </section>
  );
}

const partsNamed = 4;

function partsText(parts: readonly string[]): string {
  const named = parts.slice(0, partsNamed).join(', ');
  const more = parts.length - partsNamed;
  return more > 0
    ? say('coat.partsMore', { parts: named, n: more })
    : say('coat.parts', { parts: named });
}

function NoLot({ name, error }: { name: string; error: Error | null }) {
  return (
    <section class="section">
      <h1>{say('lot.title', { lot: name })}</h1>
      <p>
        {error === null
          ? say('lot.fetching')
          : unansweredText(error, say('lot.notKnown', { lot: name }))}
      </p>
      <p>
        <a class="button" href="/lots">
          {say('lots.title')}
        </a>
      </p>
    </section>
  );
}

/** A lot as it happened, one cure bar a step, and its file to take away. */
export function LotScreen({ name }: { name: string }) {
  const version = useComputed(() =>
    Object.values(live.value.loads)
      .filter(({ lot }) => lot === name)
      .map(({ load, state }) => `${load}${state}`)
      .join(),
  );
  const address = `/lots/${encodeURIComponent(name)}`;
  const { value: detail, error } = useAsked<LotDetail>(address, version.value);
  if (detail === null) return <NoLot name={name} error={error} />;
  return (
    <article>
      <section class="sentence">
        <h1 class="id">{say('lot.title', { lot: name })}</h1>
        {error !== null && <p class="refused">{say('lot.asItWas')}</p>}
        <p>
          <b>{sentenceOf(detail)}</b>
        </p>
        <p class="soft">{say('lot.doneMore')}</p>
      </section>
      <section class="section">
        <h2>{say('lot.steps')}</h2>
        {detail.isCut && <p>{say('lot.cut', { n: detail.steps.length })}</p>}
        <ol class="steps">
          {detail.steps.map((step) => (
            <Step key={step.load.load} step={step} />
          ))}
        </ol>
      </section>
      <LotParts lot={name} steps={detail.steps} />
      <Coats stacks={detail.coats} steps={detail.steps} />
      <section class="section">
        <h2>{say('lot.export')}</h2>
        <TakeAway lot={name} />
        <div class="acts-row">
          {may('audit') && (
            <a class="button no-print" href={`/records/${encodeURIComponent(name)}`}>
              {say('lot.record')}
            </a>
          )}
          {detail.steps.some(({ load }) => load.decisions.hold !== null) && (
            <a class="button no-print" href={`/hold-tag/${encodeURIComponent(name)}`}>
              {say('holdTag.open')}
            </a>
          )}
          <button class="button no-print" type="button" onClick={() => print()}>
            {say('load.print')}
          </button>
        </div>
      </section>
      <div class="section">
        <CheckpointSlip version={version.value} />
      </div>
    </article>
  );
}
