import '../style/hold-tag.css';
import type { LotDetail } from '@setwell/shared-models/api/dashboard';
import { verdictToken, type FloorLoad } from '@setwell/shared-models/api/floor';
import { actsDone } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { Sign } from '../cure/sign.tsx';
import { say } from '../language.ts';
import { live, rowMs } from '../live.ts';
import { holdText } from '../load/decide.tsx';
import { me } from '../people/me.ts';
import { clock, dayOfYear, whoText } from '../phrase.ts';
import { CheckpointSlip } from '../record/checkpoint-slip.tsx';
import { BarCode, isCoded } from '../scan/bar-code.tsx';

/** More of a lot stand on its file: the tag is one small sheet. */
const mostLoads = 3;

function HeldLoad({ load }: { load: FloorLoad }) {
  const { hold } = load.decisions;
  const token = verdictToken(load);
  return (
    <li>
      <Sign token={token} />
      <div>
        <b>{say('holdTag.load', { load: load.load, verdict: say(`verdict.${token}`) })}</b>
        {hold !== null && <p>{holdText(hold, rowMs.value)}</p>}
      </div>
    </li>
  );
}

function Printed({ zone }: { zone: string }) {
  const nowMs = rowMs.value;
  const when = `${dayOfYear(nowMs)}, ${clock(nowMs)}`;
  const who = me.value?.who;
  return (
    <p class="num">
      {who
        ? say('holdTag.printedBy', { when, zone, by: whoText(who.id) })
        : say('holdTag.printed', { when, zone })}
    </p>
  );
}

/** The tag that hangs on held parts: fits 100 × 150 mm and A6, and carries the newest checkpoint. */
export function HoldTagScreen({ name }: { name: string }) {
  const address = `/lots/${encodeURIComponent(name)}`;
  const { value: detail, error } = useAsked<LotDetail>(address, actsDone.value);
  const plant = live.value.site;
  // Before the plant has told its clock and zone a tag would carry another time than its record.
  if (detail === null || plant === null) {
    return (
      <section class="section">
        <h1>{say('lot.title', { lot: name })}</h1>
        {error !== null && <p>{say('lot.notKnown', { lot: name })}</p>}
      </section>
    );
  }
  const loads = detail.steps.map(({ load }) => live.value.loads[load.load] ?? load);
  const held = loads.filter(({ decisions }) => decisions.hold !== null);
  if (held.length === 0) {
    return (
      <section class="section">
        <h1>{say('holdTag.none', { lot: name })}</h1>
        <a class="button" href={address}>
          {say('record.toLot')}
        </a>
      </section>
    );
  }
  return (
    <article class="section hold-tag">
      <h1>{say('holdTag.title')}</h1>
      <p class="id lot">{say('lot.title', { lot: name })}</p>
      {plant.site.demo && <p class="demo">{say('app.demo')}</p>}
      {isCoded(name) && <BarCode text={name} heightPx={48} />}
      <p>
        <b>{say('holdTag.do')}</b>
      </p>
      <ul>
        {held.slice(0, mostLoads).map((load) => (
          <HeldLoad key={load.load} load={load} />
        ))}
      </ul>
      {held.length > mostLoads && <p>{say('holdTag.more', { n: held.length - mostLoads })}</p>}
      <Printed zone={plant.site.timeZone} />
      <CheckpointSlip version={actsDone.value} />
      <div class="acts-row no-print">
        <button class="main" onClick={() => print()}>
          {say('load.print')}
        </button>
        <a class="button" href={address}>
          {say('record.toLot')}
        </a>
      </div>
    </article>
  );
}
