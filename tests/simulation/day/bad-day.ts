import { Account, atMostWider, type Sealed } from './account.ts';
import { Chance } from './chance.ts';
import { Day, noTrouble, type Trouble } from './day.ts';
import { messagesOfDay, minuteMs, type Message } from './plant.ts';

/** Everything that the controllers say is the same for every seed; what becomes of it is not. */
const said = messagesOfDay(new Chance(1));
const seldom = 0.02;

interface Arrival {
  message: Message;
  atMs: number;
}

let quietDay: Promise<ReadonlyMap<string, Sealed>> | null = null;

/** One day with everything that can go wrong, from a seed. @throws what was found, at the step where it was */
export async function liveThroughBadDay(seed: number): Promise<void> {
  quietDay ??= liveThroughQuietDay();
  const quiet = await quietDay;
  const chance = new Chance(seed);
  const arrivals = disturbed(chance);
  const day = new Day(chance, troubleOf(chance));
  const account = new Account(
    day,
    arrivals.map(({ message }) => message),
  );
  try {
    await day.run(arrivals, () => account.look());
    account.atTheEnd();
    account.ledgerIsUnchanged();
    atMostWider(account, quiet);
  } finally {
    account.close();
    await day.end();
  }
}

export async function liveThroughQuietDay(): Promise<ReadonlyMap<string, Sealed>> {
  const day = new Day(new Chance(0), { ...noTrouble });
  const account = new Account(day, said);
  try {
    await day.run(
      said.map((message) => ({ message, atMs: message.atMs })),
      () => account.look(),
    );
    account.atTheEnd();
    return account.sealed();
  } finally {
    account.close();
    await day.end();
  }
}

/** Each seed has its own mixture, so that a fault is also met without the others that would hide it. */
function troubleOf(chance: Chance): Trouble {
  const some = (most: number) => (chance.happens(0.5) ? most * chance.next() : 0);
  return {
    kill: some(0.2),
    cut: some(0.2),
    forget: some(0.01),
    pause: some(0.05),
    clock: some(0.03),
    disk: some(0.1),
  };
}

/** The way from the controllers to the broker: delays, doubles, losses, contradictions, nonsense. */
function disturbed(chance: Chance): Arrival[] {
  const isOn = {
    delay: chance.happens(0.5),
    twice: chance.happens(0.5),
    loss: chance.happens(0.5),
  };
  const contradicts = chance.happens(0.3);
  const arrivals: Arrival[] = [];
  let eventMs = 0;
  for (const message of said) {
    const isEvent = message.readings.length === 0;
    const delayMs = isOn.delay && chance.happens(0.1) ? chance.below(9) * minuteMs : 0;
    // One controller's messages stay in order; readings go through gateways that gather them.
    const atMs = isEvent
      ? (eventMs = Math.max(eventMs, message.atMs + delayMs))
      : message.atMs + delayMs;
    if (!isEvent && isOn.loss && chance.happens(0.03)) continue;
    arrivals.push({ message, atMs });
    if (isOn.twice && chance.happens(0.05)) {
      arrivals.push({ message, atMs: atMs + chance.below(30) * minuteMs });
    }
    if (contradicts && chance.happens(seldom)) {
      for (const contrary of contradicting(message)) arrivals.push({ message: contrary, atMs });
    }
    if (chance.happens(seldom / 10)) {
      const payload = `nonsense ${chance.below(1e6)}`;
      arrivals.push({ message: { ...message, payload, readings: [] }, atMs });
    }
  }
  return arrivals;
}

function contradicting(message: Message): Message[] {
  return message.readings.map(({ point, t, v }) => ({
    ...message,
    payload: JSON.stringify({ t, v: v + 5 }),
    readings: [{ point, t, v: v + 5 }],
  }));
}
