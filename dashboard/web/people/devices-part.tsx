import { useState } from 'preact/hooks';
import type { Device } from '@setwell/shared-models/api/people';
import { act } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { say } from '../language.ts';
import { wallNowMs } from '../live.ts';
import { Field } from './proof-dialog.tsx';
import { Part } from './settings.tsx';

/** A wall that was not seen for so long is dark, frozen or unplugged [ms]. */
const unseenMs = 120_000;

/** Walls and tokens: when each was last seen, and how one more is let in. */
export function DevicesPart() {
  const [count, setCount] = useState(0);
  const asked = useAsked<{ devices: Device[] }>('/devices', count);
  const [told, setTold] = useState<string | null>(null);
  const [token, setToken] = useState<string | null>(null);
  const done = (promise: Promise<unknown>): void => {
    promise.then(
      (answer) => {
        setTold(null);
        setToken((answer as { token?: string }).token ?? null);
        setCount((n) => n + 1);
      },
      (error: Error) => setTold(error.message),
    );
  };
  return (
    <Part title={say('people.devices')}>
      <div role="alert">
        {told !== null && <p class="refused">{told}</p>}
        {token !== null && (
          <p class="note">
            {say('people.tokenOnce')} <code>{token}</code>
          </p>
        )}
      </div>
      <div class="table-wide">
        <table>
          <thead>
            <tr>
              <th>{say('people.device')}</th>
              <th>{say('people.halls')}</th>
              <th>{say('people.seen')}</th>
              <th>{say('people.acts')}</th>
            </tr>
          </thead>
          <tbody>
            {(asked.value?.devices ?? [])
              .filter(({ revokedMs }) => revokedMs === null)
              .map((device) => (
                <tr key={device.id}>
                  <td>
                    {device.name} · {say(`people.${device.kind}`)}
                  </td>
                  <td>{device.hall ?? say('people.everyHall')}</td>
                  <td>{seenText(device)}</td>
                  <td>
                    <button onClick={() => done(act(`/devices/${device.id}/revoke`, {}))}>
                      {say('people.letOut')}
                    </button>
                  </td>
                </tr>
              ))}
          </tbody>
        </table>
      </div>
      <PairForm done={done} />
      <TokenForm done={done} />
    </Part>
  );
}

function seenText({ seenMs }: Device): string {
  if (seenMs === null) return say('people.neverSeen');
  const min = Math.floor((wallNowMs.value - seenMs) / 60_000);
  return wallNowMs.value - seenMs > unseenMs
    ? say('people.unseen', { min })
    : say('people.seenNow');
}

type Done = (promise: Promise<unknown>) => void;

function PairForm({ done }: { done: Done }) {
  return (
    <details>
      <summary>{say('people.pairWall')}</summary>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          const form = new FormData(event.currentTarget);
          const hall = String(form.get('hall') ?? '').trim();
          const body = { code: form.get('code'), name: form.get('name') };
          done(act('/devices/pair', { ...body, hall: hall === '' ? null : hall }));
        }}
      >
        <p>{say('people.pairHow')}</p>
        <Field name="code" label={say('people.wallCode')} inputMode="numeric" autocomplete="off" />
        <Field name="name" label={say('people.deviceName')} autocomplete="off" />
        <Field name="hall" label={say('people.hallsOnly')} optional />
        <button class="main">{say('people.pair')}</button>
      </form>
    </details>
  );
}

function TokenForm({ done }: { done: Done }) {
  return (
    <details>
      <summary>{say('people.newToken')}</summary>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          const name = new FormData(event.currentTarget).get('name');
          done(act('/devices/token', { name, scopes: ['look'] }));
        }}
      >
        <p>{say('people.tokenHow')}</p>
        <Field name="name" label={say('people.deviceName')} autocomplete="off" />
        <button class="main">{say('people.newToken')}</button>
      </form>
    </details>
  );
}
