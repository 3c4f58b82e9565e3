import '../style/print.css';
import { useEffect, useState } from 'preact/hooks';
import { asTyped, layoutsThatType } from '@setwell/shared-models/plant/scanner-layout';
import { say } from '../language.ts';
import { BarCode } from './bar-code.tsx';
import { keepLayout, listenToScans, scannerLayout } from './scanner.ts';

/** A hyphen, digits, a dot and the two letters that the layouts turn about. */
const printed = 'K-118.YZ';

type Found = { ok: boolean; text: string };

/** What a scan of the printed code says of scanner and computer. */
function found(typed: string): Found {
  const [layout, other] = layoutsThatType(printed, typed);
  if (layout === undefined) return { ok: false, text: say('scanner.unknown', { typed, printed }) };
  keepLayout(layout);
  if (layout === 'us') return { ok: true, text: say('scanner.same') };
  const name = say(`scanner.layout.${layout}`);
  const both =
    other === undefined
      ? name
      : say('scanner.or', { one: name, other: say(`scanner.layout.${other}`) });
  return { ok: true, text: say('scanner.differs', { layout: both, typed, printed }) };
}

/** Print this code, scan it: the page names what does not fit, and remembers it for this device. */
export function ScannerScreen() {
  const [answer, setAnswer] = useState<Found | null>(null);
  useEffect(
    () =>
      listenToScans((typed) => {
        setAnswer(found(typed));
        return true;
      }),
    [],
  );
  const kept = scannerLayout.value;
  return (
    <section class="section scanner">
      <h1>{say('scanner.title')}</h1>
      <p>{say('scanner.how')}</p>
      <BarCode text={printed} />
      <div role="status">
        {answer !== null && <p class={answer.ok ? 'note told' : 'refused'}>{answer.text}</p>}
      </div>
      <p class="soft">
        {kept === null
          ? say('scanner.unchecked')
          : say('scanner.kept', {
              layout: say(`scanner.layout.${kept}`),
              example: asTyped('K-118', kept),
            })}
      </p>
      <div class="acts-row no-print">
        <button onClick={() => print()}>{say('load.print')}</button>
      </div>
    </section>
  );
}
