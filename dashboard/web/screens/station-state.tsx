import { useState } from 'preact/hooks';
import type { StationNow } from '@setwell/shared-models/api/collector';
import type { StationSet } from '@setwell/shared-models/record/bodies';
import { live, nowMs } from '../live.ts';
import { say } from '../language.ts';
import { clockFrom, duration, whoText } from '../phrase.ts';
import { ReasonForm } from '../reason-form.tsx';
import { useSending } from '../sent.ts';
import { Told } from '../told.tsx';
import { Choice } from './choice.tsx';

const states: StationSet['state'][] = ['out-of-service', 'cleaning', 'planned-stop'];
/** Ends that are offered [min]; 0: until somebody puts it back. */
const ends = [0, 60, 240, 480] as const;
const minuteMs = 60_000;

const addressOf = (station: string): string => `/stations/${encodeURIComponent(station)}/state`;

/** A station taken out of service, with who, why and until when; nobody is called for what it does then. */
export function StationState({ station }: { station: string }) {
  const service = live.value.stations[station]?.service ?? null;
  return service !== null && service.state !== 'in-service' ? (
    <OutOfService station={station} service={service} />
  ) : (
    <TakeOut station={station} />
  );
}

function OutOfService({
  station,
  service,
}: {
  station: string;
  service: NonNullable<StationNow['service']>;
}) {
  const { sent, send } = useSending();
  const { state, by, sinceMs, reason } = service;
  const putBack = { state: 'in-service', reason: say('station.backReason') };
  return (
    <section class="todo">
      <p>
        {say('station.out', {
          state: say(`slot.service.${state}`),
          by: whoText(by),
          clock: clockFrom(sinceMs, nowMs.value),
          reason,
        })}
      </p>
      <div class="acts-row">
        <button
          type="button"
          disabled={sent.state === 'sending'}
          onClick={() => send(addressOf(station), putBack, say('station.back.done'))}
        >
          {say('station.back')}
        </button>
      </div>
      <Told sent={sent} />
    </section>
  );
}

function TakeOut({ station }: { station: string }) {
  const [opened, setOpened] = useState(false);
  const { sent, send, again } = useSending();
  return (
    <section>
      <button
        type="button"
        aria-expanded={opened}
        onClick={() => {
          again();
          setOpened(!opened);
        }}
      >
        {say('station.take', { station })}
      </button>
      {opened && sent.state !== 'done' && (
        <TakeOutForm
          sending={sent.state === 'sending'}
          close={() => setOpened(false)}
          send={(body) => send(addressOf(station), body, say('station.done', { station }))}
        />
      )}
      <Told sent={sent} />
    </section>
  );
}

function TakeOutForm({
  sending,
  close,
  send,
}: {
  sending: boolean;
  close: () => void;
  send: (set: StationSet) => void;
}) {
  const [state, setState] = useState<StationSet['state']>('out-of-service');
  const [end, setEnd] = useState<number>(0);
  const now = nowMs.value;
  const until = (min: number): number => Math.ceil(now / minuteMs + min) * minuteMs;
  const endText = (min: number): string =>
    min === 0
      ? say('station.noEnd')
      : say('calls.shelveMin', { clock: clockFrom(until(min), now), time: duration(min, true) });
  return (
    <ReasonForm
      label={say('station.why')}
      confirm={say('station.takeYes')}
      sending={sending}
      cancel={close}
      send={(reason) => send({ state, reason, untilMs: end === 0 ? null : until(end) })}
    >
      <Choice
        legend={say('station.state')}
        name="station-state"
        options={states.map((each) => ({ value: each, text: say(`slot.service.${each}`) }))}
        value={[state]}
        choose={setState}
      />
      <Choice
        legend={say('calls.shelveFor')}
        name="station-until"
        options={ends.map((min) => ({ value: min as number, text: endText(min) }))}
        value={[end]}
        choose={setEnd}
      />
    </ReasonForm>
  );
}
