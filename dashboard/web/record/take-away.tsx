import { language, say } from '../language.ts';
import { may } from '../people/me.ts';

const kinds = ['bundle', 'pdf', 'json', 'csv'] as const;

/** A lot's file to take away, in each form that there is; whoever may not is told who may. */
export function TakeAway({ lot }: { lot: string }) {
  if (!may('audit')) return <p class="no-print">{say('record.mayNot')}</p>;
  const address = `/api/v1/lots/${encodeURIComponent(lot)}/file`;
  return (
    <>
      <p class="no-print">{say('record.take')}</p>
      <div class="acts-row no-print">
        {kinds.map((kind) => (
          <a
            key={kind}
            class={kind === 'bundle' ? 'button main' : 'button'}
            download
            href={`${address}?as=${kind}&language=${language.value}`}
          >
            {say(`record.as.${kind}`)}
          </a>
        ))}
      </div>
    </>
  );
}
