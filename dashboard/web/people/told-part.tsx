import type { ToldMessage, ToldPeople, ToldRoute } from '@setwell/shared-models/api/outbox';
import { send } from '../ask.ts';
import { useAsked } from '../asked.ts';
import { say } from '../language.ts';
import { wallNowMs } from '../live.ts';
import { asPerson } from '../person.ts';
import { callText, clockFrom, clockUp } from '../phrase.ts';
import { randomId } from '../random-id.ts';
import { useOutcome } from '../sent.ts';
import { Told } from '../told.tsx';
import { may } from './me.ts';
import { Part } from './settings.tsx';

const shown = 50;
/** A message goes out within some seconds: the list follows it [ms of wall time]. */
const lookEveryMs = 3_000;

/** Who is told of calls away from the screens, and what has become of each message. */
export function ToldPart() {
  const { sent, follow } = useOutcome();
  const version = Math.floor(wallNowMs.value / lookEveryMs);
  const { value } = useAsked<ToldPeople>(`/outbox?limit=${String(shown)}`, version);
  if (value === null) return null;
  const { routes, messages, nowMs } = value;
  return (
    <Part title={say('told.title')}>
      <Told sent={sent} />
      {routes.length === 0 ? (
        <p class="soft">{say('told.nobody')}</p>
      ) : (
        <ul class="told-routes">
          {routes.map((route) => (
            <li key={route.id}>
              <span>{routeText(route)}</span>
              {route.by !== 'lamp' && may('administer') && (
                <button
                  disabled={sent.state === 'sending'}
                  aria-label={say('told.testOf', { route: route.id })}
                  onClick={() => {
                    asPerson((by) => {
                      const test = { id: randomId(), by, route: route.id };
                      follow(send('/outbox/test', test), say('told.tested'));
                    });
                  }}
                >
                  {say('told.test')}
                </button>
              )}
            </li>
          ))}
        </ul>
      )}
      {messages.length > 0 && <Messages messages={messages} nowMs={nowMs} />}
    </Part>
  );
}

function routeText({ id, by, jobs }: ToldRoute): string {
  const who = jobs.map((job) => say(`person.${job}`)).join(', ');
  return say('told.route', { id, by: say(`told.by.${by}`), who });
}

function Messages({ messages, nowMs }: Pick<ToldPeople, 'messages' | 'nowMs'>) {
  return (
    <div class="table-wide" tabIndex={0} role="region" aria-label={say('told.messages')}>
      <table class="stacking">
        <thead>
          <tr>
            <th>{say('told.col.made')}</th>
            <th>{say('told.col.route')}</th>
            <th>{say('told.col.what')}</th>
            <th>{say('told.col.how')}</th>
          </tr>
        </thead>
        <tbody>
          {messages.map((message) => (
            <tr key={message.id}>
              <td class="num">{clockFrom(message.madeMs, nowMs)}</td>
              <td class="id">{message.route}</td>
              <td>{aboutText(message)}</td>
              <td>{stateText(message, nowMs)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

function aboutText({ about, isTest }: ToldMessage): string {
  if (isTest) return say('told.isTest');
  if (about.length === 0) return say('told.forgotten');
  return about
    .map((call) => `${call.station ?? ''} ${callText(call, '.short')}`.trim())
    .join(' · ');
}

function stateText(message: ToldMessage, nowMs: number): string {
  const { sentMs, givenUpMs, dueMs, tries } = message;
  const fault = message.fault ?? '';
  if (sentMs !== null) return say('told.sent', { clock: clockFrom(sentMs, nowMs) });
  if (givenUpMs !== null) {
    return say('told.givenUp', { clock: clockFrom(givenUpMs, nowMs), fault });
  }
  const clock = clockUp(dueMs, nowMs);
  if (tries > 0) return say('told.again', { n: tries, clock, fault });
  return dueMs > nowMs ? say('told.waits', { clock }) : say('told.onItsWay');
}
