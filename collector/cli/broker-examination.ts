import { randomUUID } from 'node:crypto';
import mqtt, { type IClientOptions, type IConnackPacket, type MqttClient } from 'mqtt';
import type { BrokerAddress } from '../intake/broker-client.ts';
import type { Symptom } from './symptom.ts';

/** More than the queue of 1,000 that a broker has if nobody has set another. */
const queued = 1200;
/** As long as a collector may be away [s]. */
const sessionS = 14 * 86_400;
/** An intake's own messages are far smaller; a broker that takes less refuses an hour of a gateway's. */
const leastPacketBytes = 128 * 1024;
/** Everything is on one network; what takes longer does not come [ms]. */
const withinMs = 15_000;

/**
 * Asks a broker what it does, as the collector would meet it: who may come in, what is granted, what is
 * kept while the collector is away, and for how long. It writes below `setwell/` only, and tidies up.
 *
 * @throws Error where it cannot be reached or turns us away
 */
export async function examineBroker(
  address: BrokerAddress,
  collector: string,
  filters: readonly string[],
): Promise<Symptom[]> {
  const name = `setwell-doctor-${randomUUID().slice(0, 8)}`;
  const where = new URL(address.url).host;
  const options = optionsOf(address);
  const asker = await connect(address.url, { ...options, clientId: `${name}-asks`, clean: true });
  try {
    const lacking = await rights(asker.client, collector, filters, where);
    // Without the right to write, nothing can be sent that should be kept.
    if (lacking.some(({ found }) => found.startsWith('no echo'))) return lacking;
    const kept = await keeping({ address, options, name, collector, asker: asker.client, where });
    return [...lacking, ...kept];
  } finally {
    await asker.client.endAsync(true);
  }
}

interface Connected {
  client: MqttClient;
  connack: IConnackPacket;
}

function optionsOf({ username, password, ca, certificate, key }: BrokerAddress): IClientOptions {
  return {
    protocolVersion: 5,
    reconnectPeriod: 0,
    connectTimeout: withinMs,
    ...(username === undefined ? {} : { username }),
    ...(password === undefined ? {} : { password }),
    ...(ca === undefined ? {} : { ca }),
    ...(certificate === undefined ? {} : { cert: certificate }),
    ...(key === undefined ? {} : { key }),
  };
}

/** @param hear the topic of each message; those of a kept session come at once */
function connect(
  url: string,
  options: IClientOptions,
  hear: (topic: string) => void = () => {},
): Promise<Connected> {
  return new Promise((resolve, reject) => {
    const client = mqtt.connect(url, options);
    client.on('message', hear);
    const giveUp = (error: Error) => {
      client.end(true);
      reject(error);
    };
    const closed = () => giveUp(new Error('the broker closes the connection'));
    // What goes wrong later is seen by what does not come.
    client.on('error', giveUp);
    client.once('close', closed);
    client.once('connect', (connack) => {
      client.off('close', closed);
      resolve({ client, connack });
    });
  });
}

/** What it lets the collector read, and that the collector may write below `setwell/`. */
async function rights(
  client: MqttClient,
  collector: string,
  filters: readonly string[],
  where: string,
): Promise<Symptom[]> {
  const symptoms: Symptom[] = [];
  const granted = await client.subscribeAsync([...filters], { qos: 1 });
  for (const { topic, qos } of granted) {
    if (qos === 1) continue;
    const found = qos === 0 ? `${topic} at QoS 0` : `no right to read ${topic}`;
    const expected = 'QoS 1 for each topic of the plant, or messages are lost on the way';
    symptoms.push({ code: 'rights', where, found, expected });
  }
  const topic = `setwell/${collector}/doctor`;
  const word = randomUUID();
  const heard = heardOn(client, topic, word);
  await client.subscribeAsync(topic, { qos: 1 });
  await client.publishAsync(topic, word, { qos: 1 }).catch(() => undefined);
  if (!(await heard)) {
    const expected = 'the right to write and read below setwell/';
    symptoms.push({ code: 'rights', where, found: `no echo on ${topic}`, expected });
  }
  return symptoms;
}

interface Kept {
  address: BrokerAddress;
  options: IClientOptions;
  name: string;
  collector: string;
  asker: MqttClient;
  where: string;
}

/** What it keeps for a collector that is away: asked with as many messages as its queue should take. */
async function keeping(parts: Kept): Promise<Symptom[]> {
  const { address, options, name, collector, asker, where } = parts;
  const topic = `setwell/${collector}/doctor/${name}`;
  const properties = { sessionExpiryInterval: sessionS };
  const away = { ...options, clientId: name, clean: false, properties };
  const first = await connect(address.url, away);
  const symptoms = limitsOf(first.connack, where);
  await first.client.subscribeAsync(topic, { qos: 1 });
  await first.client.endAsync();
  const sent = Array.from({ length: queued }, (_, i) =>
    asker.publishAsync(topic, String(i), { qos: 1 }).then(
      () => true,
      () => false,
    ),
  );
  const taken = (await Promise.all(sent)).filter(Boolean).length;
  const count = new Count(topic, taken);
  const back = await connect(address.url, { ...away, resubscribe: false }, (on) => count.hear(on));
  const kept = await count.settled;
  if (!back.connack.sessionPresent) {
    const expected =
      'a session that is kept while the collector is away: persistent clients allowed';
    symptoms.push({ code: 'session', where, found: 'no session after a reconnect', expected });
  } else if (kept < queued) {
    const found = `${kept} of ${queued} messages kept for a collector that is away`;
    const expected = 'all of them: max_queued_messages 0, and max_queued_bytes as the disk allows';
    symptoms.push({ code: 'queue-limit', where, found, expected });
  }
  await back.client.endAsync(true);
  const last = await connect(address.url, { ...options, clientId: name, clean: true });
  await last.client.endAsync();
  return symptoms;
}

/** What it says of itself when it lets somebody in (MQTT 5, 3.2.2.3). */
function limitsOf({ properties }: IConnackPacket, where: string): Symptom[] {
  const symptoms: Symptom[] = [];
  const { sessionExpiryInterval, maximumQoS, retainAvailable, maximumPacketSize } =
    properties ?? {};
  if (sessionExpiryInterval !== undefined && sessionExpiryInterval < sessionS) {
    const found = `sessions that expire after ${Math.floor(sessionExpiryInterval / 3600)} h`;
    const expected = 'two weeks: persistent_client_expiration 14d';
    symptoms.push({ code: 'expiry', where, found, expected });
  }
  if (maximumQoS === 0) {
    symptoms.push({ code: 'qos', where, found: 'QoS 0 only', expected: 'QoS 1' });
  }
  if (retainAvailable === false) {
    const expected = 'retained messages: advice must be there for a display that comes later';
    symptoms.push({ code: 'retain', where, found: 'none retained', expected });
  }
  if (maximumPacketSize !== undefined && maximumPacketSize < leastPacketBytes) {
    const found = `packets of at most ${maximumPacketSize} bytes`;
    const expected = `at least ${leastPacketBytes}: payloads may have 64 KiB`;
    symptoms.push({ code: 'packet-size', where, found, expected });
  }
  return symptoms;
}

/** Whether a word comes back in time. */
function heardOn(client: MqttClient, topic: string, word: string): Promise<boolean> {
  return new Promise((resolve) => {
    const timer = setTimeout(() => resolve(false), withinMs / 5);
    client.on('message', (on, payload) => {
      if (on !== topic || payload.toString() !== word) return;
      clearTimeout(timer);
      resolve(true);
    });
  });
}

/** Messages on a topic until all are there, or none has come for a while. */
class Count {
  readonly settled: Promise<number>;
  readonly #topic: string;
  readonly #most: number;
  #settle: (count: number) => void = () => {};
  #timer: NodeJS.Timeout | undefined;
  #count = 0;

  constructor(topic: string, most: number) {
    this.#topic = topic;
    this.#most = most;
    this.settled = new Promise((resolve) => (this.#settle = resolve));
    this.#wait();
  }

  hear(topic: string): void {
    if (topic !== this.#topic) return;
    this.#count += 1;
    this.#wait();
  }

  #wait(): void {
    clearTimeout(this.#timer);
    const settle = () => this.#settle(this.#count);
    if (this.#count >= this.#most && this.#most > 0) settle();
    else this.#timer = setTimeout(settle, withinMs / 5);
  }
}
