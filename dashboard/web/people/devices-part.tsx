import type { Device } from '@setwell/shared-models/api/people';
import { TextField } from '../field.tsx';
import { say } from '../language.ts';
import { wallNowMs } from '../live.ts';
import { Told } from '../told.tsx';
import { Part } from './settings.tsx';
import { useListed, type Listed } from './use-listed.ts';

/** A wall that was not seen for so long is dark, frozen or unplugged [ms]. */
const unseenMs = 120_000;

/** Walls and tokens: when each was last seen, and how one more is let in. */
export function DevicesPart() {
  const { value, sent, answer, change } = useListed<{ devices: Device[] }>('/devices');
  const devices = (value?.devices ?? []).filter(({ revokedMs }) => revokedMs === null);
  const token = answer !== null && 'token' in answer ? String(answer.token) : null;
  return (
    <Part title={say('people.devices')}>
      <Told sent={sent} />
      {token !== null && (
        <p class="note" role="status">
          {say('people.tokenOnce')} <code>{token}</code>
        </p>
      )}
      {devices.length > 0 && <DeviceTable devices={devices} change={change} />}
      <PairForm change={change} />
      <TokenForm change={change} />
    </Part>
  );
}

function DeviceTable({ devices, change }: { devices: Device[] } & Pick<Listed<unknown>, 'change'>) {
  return (
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
          {devices.map((device) => (
            <tr key={device.id}>
              <td>
                {device.name} · {say(`people.${device.kind}`)}
              </td>
              <td>{device.hall ?? say('people.everyHall')}</td>
              <td>{seenText(device)}</td>
              <td>
                <button onClick={() => change(`/devices/${device.id}/revoke`, {})}>
                  {say('people.letOut')}
                </button>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function seenText({ seenMs }: Device): string {
  if (seenMs === null) return say('people.neverSeen');
  const min = Math.floor((wallNowMs.value - seenMs) / 60_000);
  return wallNowMs.value - seenMs > unseenMs
    ? say('people.unseen', { min })
    : say('people.seenNow');
}

function PairForm({ change }: Pick<Listed<unknown>, 'change'>) {
  return (
    <details>
      <summary>{say('people.pairWall')}</summary>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          const form = new FormData(event.currentTarget);
          const hall = String(form.get('hall') ?? '').trim();
          const body = { code: form.get('code'), name: form.get('name') };
          change('/devices/pair', { ...body, hall: hall === '' ? null : hall });
        }}
      >
        <p>{say('people.pairHow')}</p>
        <TextField
          name="code"
          label={say('people.wallCode')}
          inputMode="numeric"
          autocomplete="off"
          required
        />
        <TextField name="name" label={say('people.deviceName')} autocomplete="off" required />
        <TextField name="hall" label={say('people.hallsOnly')} />
        <button class="main">{say('people.pair')}</button>
      </form>
    </details>
  );
}

function TokenForm({ change }: Pick<Listed<unknown>, 'change'>) {
  return (
    <details>
      <summary>{say('people.newToken')}</summary>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          const name = new FormData(event.currentTarget).get('name');
          change('/devices/token', { name, scopes: ['look'] });
        }}
      >
        <p>{say('people.tokenHow')}</p>
        <TextField name="name" label={say('people.deviceName')} autocomplete="off" required />
        <button class="main">{say('people.newToken')}</button>
      </form>
    </details>
  );
}
