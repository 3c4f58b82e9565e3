import { useState } from 'preact/hooks';
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

/** A station taken out of service, with who, why and until when; nobody is called for what it does then. */
export function StationState({ station }: { station: string }) {
  const [opened, setOpened] = useState(false);
  const [state, setState] = useState<StationSet['state']>('out-of-service');
  const [end, setEnd] = useState<number>(0);
  const { sent, send, again } = useSending();
  const service = live.value.stations[station]?.service ?? null;
  const isOut = service !== null && service.state !== 'in-service';
  const address = `/stations/${encodeURIComponent(station)}/state`;
  const now = nowMs.value;
  const until = (min: number): number => Math.ceil(now / minuteMs + min) * minuteMs;
  if (isOut) {
    return (
      <section class="todo">
        <p>
          {say('station.out', {
            state: say(`slot.service.${service.state}`),
            by: whoText(service.by),
            clock: clockFrom(service.sinceMs, now),
            reason: service.reason,
          })}
        </p>
        <div class="acts-row">
          <button
            type="button"
            disabled={sent.state === 'sending'}
            onClick={() => {
              const body = { state: 'in-service', reason: say('station.backReason') };
              send(address, body, say('station.back.done'));
            }}
          >
            {say('station.back')}
          </button>
        </div>
        <Told sent={sent} />
      </section>
    );
  }
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
        <ReasonForm
          label={say('station.why')}
          confirm={say('station.takeYes')}
          sending={sent.state === 'sending'}
          cancel={() => setOpened(false)}
          send={(reason) => {
            const untilMs = end === 0 ? null : until(end);
            send(address, { state, reason, untilMs }, say('station.done', { station }));
          }}
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
            options={ends.map((min) => ({
              value: min as number,
              text:
                min === 0
                  ? say('station.noEnd')
                  : say('calls.shelveMin', {
                      clock: clockFrom(until(min), now),
                      time: duration(min, true),
                    }),
            }))}
            value={[end]}
            choose={setEnd}
          />
        </ReasonForm>
      )}
      <Told sent={sent} />
    </section>
  );
}
