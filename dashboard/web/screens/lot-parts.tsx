import '../style/part.css';
import { useState } from 'preact/hooks';
import type { LotStep } from '@setwell/shared-models/api/dashboard';
import { verdictToken, type VerdictToken } from '@setwell/shared-models/api/floor';
import { Sign } from '../cure/sign.tsx';
import { say } from '../language.ts';

/** A part that is not as the rest of its lot: what it came out as. */
interface Odd {
  part: string;
  token: VerdictToken;
}

const inNaturalOrder = new Intl.Collator('en', { numeric: true });

/** What each part came out as where that is not in its window; the last that is not counts. */
function oddOf(steps: readonly LotStep[]): Odd[] {
  const odd = new Map<string, VerdictToken>();
  for (const { load, parts } of steps) {
    if (load.state === 'open' || load.verdict === 'in-window') continue;
    for (const part of parts) odd.set(part, verdictToken(load));
  }
  return [...odd].map(([part, token]) => ({ part, token }));
}

function PartLink({ lot, part }: { lot: string; part: string }) {
  return (
    <a class="button id" href={`/lots/${encodeURIComponent(lot)}/${encodeURIComponent(part)}`}>
      {part}
    </a>
  );
}

/** Parts by exception: those that came out otherwise by name and word, the others a press away. */
export function LotParts({ lot, steps }: { lot: string; steps: readonly LotStep[] }) {
  const [all, setAll] = useState(false);
  const parts = [...new Set(steps.flatMap((step) => step.parts))].sort(inNaturalOrder.compare);
  if (parts.length === 0) return null;
  const odd = oddOf(steps).sort((a, b) => inNaturalOrder.compare(a.part, b.part));
  const others = parts.filter((part) => odd.every((each) => each.part !== part));
  return (
    <section class="section">
      <h2>{say('part.parts')}</h2>
      {odd.length > 0 && (
        <ul class="parts-list">
          {odd.map(({ part, token }) => (
            <li key={part} class="with-sign">
              <PartLink lot={lot} part={part} />
              <Sign token={token} /> {say(`verdict.${token}`)}
            </li>
          ))}
        </ul>
      )}
      {odd.length > 0 && others.length > 0 && (
        <p class="soft">{say('part.parts.others', { n: others.length })}</p>
      )}
      {!all && others.length > 0 && (
        <p>
          <button class="quiet no-print" onClick={() => setAll(true)}>
            {say('part.parts.all', { n: parts.length })}
          </button>
        </p>
      )}
      {all && (
        <ul class="parts-list">
          {parts.map((part) => (
            <li key={part}>
              <PartLink lot={lot} part={part} />
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
