import '../style/print.css';
import { actCode, type CardAct } from '@setwell/shared-models/plant/act-code';
import { SafetyNote } from '../load/safety-note.tsx';
import { site, stations } from '../live.ts';
import { say } from '../language.ts';
import { BarCode } from './bar-code.tsx';

const acts: CardAct[] = ['start', 'end', 'go', 'hold', 'keep-closed'];

/** A sheet to laminate for a station: for gloves that no glass feels. The badge is the second scan. */
export function ActCardScreen({ name }: { name: string }) {
  const station = stations.value.find(({ id }) => id === name);
  if (station === undefined) {
    return (
      <section class="section">
        <h1>{say('card.notKnown', { station: name })}</h1>
      </section>
    );
  }
  return (
    <section class="section act-card">
      <h1>{say('card.title', { station: name })}</h1>
      <p>{say('card.how')}</p>
      {site.value?.demo === true && <p class="demo">{say('card.demo')}</p>}
      <ul class="card-acts">
        {acts.map((act) => (
          <li key={act}>
            <h2>{say(`card.${act}`)}</h2>
            <BarCode text={actCode({ act, station: name })} />
          </li>
        ))}
      </ul>
      <SafetyNote kind={station.kind} />
      <div class="acts-row no-print">
        <button class="main" onClick={() => print()}>
          {say('load.print')}
        </button>
      </div>
    </section>
  );
}
