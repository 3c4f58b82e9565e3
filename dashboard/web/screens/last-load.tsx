import { useEffect } from 'preact/hooks';
import { useAsked } from '../asked.ts';
import { say } from '../language.ts';
import { loadAddress, replace } from '../route.ts';

/** The way from a station to the last load that was in it: it goes on by itself. */
export function LastLoadScreen({ name }: { name: string }) {
  const address = `/loads?station=${encodeURIComponent(name)}&limit=1`;
  const { value, error } = useAsked<{ loads: { id: string }[] }>(address, 0);
  const last = value?.loads[0]?.id;
  useEffect(() => {
    if (last !== undefined) replace(loadAddress(last));
  }, [last]);
  return (
    <section class="section">
      <h1 class="id">{name}</h1>
      {value !== null && last === undefined && <p>{say('load.noneYet', { station: name })}</p>}
      {error !== null && <p class="refused">{error.message}</p>}
    </section>
  );
}
