import { randomUUID } from 'node:crypto';
import { createRequire } from 'node:module';
import mqtt, { type IClientOptions, type IConnackPacket } from 'mqtt';
import type { Clock } from '../clock.ts';
import { JournalError } from '../journal/journal-error.ts';
import type { Metrics } from '../metrics.ts';
import { statusTopic, type Bus, type PublishOptions } from './bus.ts';
import { BrokerStream } from './broker-stream.ts';
import { BusState } from './bus-state.ts';
import type { Arrival, Intake } from './intake.ts';
import type { Published } from './packet-splitter.ts';

/** Messages are taken out of its stream by a private member: another version needs a look first. */
const pinnedVersion = '5.16.0';

/** A commit is due at once when this much waits, else when the socket has been drained. */
const mostWaiting = { messages: 4000, bytes: 256 * 1024 };

const reconnectMs = 1000;

export interface BrokerAddress {
  /** `mqtt://` or `mqtts://` */
  url: string;
  username?: string;
  password?: string;
  /** PEM of the authority that signed the broker's certificate. */
  ca?: Buffer;
  /** PEM of our own certificate and key, where the broker asks for one. */
  certificate?: Buffer;
  key?: Buffer;
  /** MQTT 3.1.1 unless 5 is asked for. */
  protocolVersion?: 4 | 5;
}

export interface BrokerParts {
  collector: string;
  intake: Intake;
  clock: Clock;
  metrics?: Metrics;
  /** The broker has forgotten us though it should not have: what it held meanwhile is lost. */
  onSessionLost?: () => void;
  /** Something was recorded before, so the broker ought to know us. */
  expectsSession?: boolean;
}

/**
 * Connects to a broker, now and again, and hears all that the plant says.
 *
 * @throws Error when another version of the client library is installed
 */
export function connectBroker(address: BrokerAddress, parts: BrokerParts): Bus {
  assertPinned();
  return new BrokerClient(address, parts);
}

function assertPinned(): void {
  const { version } = createRequire(import.meta.url)('mqtt/package.json') as { version: string };
  if (version !== pinnedVersion) {
    throw new Error(
      `mqtt ${version} is installed; acknowledging was checked with ${pinnedVersion}`,
    );
  }
}

class BrokerClient implements Bus {
  readonly #parts: BrokerParts;
  readonly #state: BusState;
  readonly #client: mqtt.MqttClient;
  readonly #echoTopic: string;
  #arrivals: Arrival[] = [];
  #waitingBytes = 0;
  /** Numbers of the messages that wait for their acknowledgement. */
  #unacknowledged: number[] = [];
  /** Whether the connection that the waiting acknowledgements belong to still stands. */
  #mayAcknowledge = false;
  #flush: NodeJS.Immediate | null = null;
  #connects = 0;
  /** What comes before this returns may have waited in the broker's queue; null: nothing has. */
  #echo: string | null = null;
  #subscribed = false;

  constructor(address: BrokerAddress, parts: BrokerParts) {
    this.#parts = parts;
    this.#state = new BusState(withoutSecrets(address.url), parts.clock);
    this.#echoTopic = `setwell/${parts.collector}/echo`;
    const handler = {
      published: (message: Published) => this.#arrived(message),
      greeted: (sessionPresent: boolean) => this.#greeted(sessionPresent),
    };
    const options = connectOptions(address, parts.collector);
    const client = mqtt.connect(address.url, options);
    this.#client = client;
    const lineTo = client['streamBuilder'];
    client['streamBuilder'] = (own: mqtt.MqttClient) =>
      new BrokerStream(lineTo(own), address.protocolVersion ?? 4, handler);
    client.on('connect', (connack) => this.#connected(connack));
    client.on('close', () => this.#closed());
    client.on('error', (error) => this.#state.set(client.connected, [error.message]));
    client.connect();
  }

  /**
   * From the greeting on, not from when the library counts as connected: first it sends again what it has of
   * before, and waits for each answer, while what the broker kept for us comes in already. Unacknowledged, a
   * window of it would stop the broker for good.
   */
  #greeted(sessionPresent: boolean): void {
    this.#mayAcknowledge = true;
    this.#echo = sessionPresent ? randomUUID() : null;
  }

  #connected({ sessionPresent: isKnown }: IConnackPacket): void {
    const wasKnown = this.#connects > 0 || this.#parts.expectsSession === true;
    this.#connects += 1;
    if (!isKnown && wasKnown) this.#parts.onSessionLost?.();
    this.publish(statusTopic(this.#parts.collector), 'online', { retain: true, qos: 1 });
    if (!isKnown || !this.#subscribed) this.#subscribe();
    else this.#state.set(true, []);
    if (this.#echo !== null) this.publish(this.#echoTopic, this.#echo, { retain: false, qos: 1 });
  }

  #subscribe(): void {
    const topics = [this.#echoTopic, ...this.#parts.intake.topics.filters];
    this.#client.subscribe(topics, { qos: 1 }, (error, granted) => {
      const refused = (granted ?? []).filter(({ qos }) => qos > 2);
      const lesser = (granted ?? []).filter(({ qos }) => qos === 0);
      const faults = [
        ...refused.map(({ topic }) => `the broker refuses to send ${topic}`),
        ...lesser.map(({ topic }) => `the broker sends ${topic} at QoS 0: messages can be lost`),
      ];
      if (error && faults.length === 0) faults.push(error.message);
      // Only now does the broker keep for us what we miss.
      this.#subscribed = faults.length === 0;
      this.#state.set(this.#client.connected, faults);
    });
  }

  #arrived({ topic, payload, retained, messageId }: Published): void {
    if (messageId !== null) this.#unacknowledged.push(messageId);
    if (topic === this.#echoTopic) {
      if (payload.toString() === this.#echo) this.#echo = null;
      this.#flushSoon();
      return;
    }
    // What is granted at QoS 1 and comes at 0 was published at 0.
    const atMostOnce = messageId === null;
    const queued = this.#echo !== null && !atMostOnce;
    this.#arrivals.push({ topic, payload, retained, queued, act: null, atMostOnce });
    this.#waitingBytes += payload.length;
    if (this.#arrivals.length >= mostWaiting.messages || this.#waitingBytes >= mostWaiting.bytes) {
      this.#commit();
    } else {
      this.#flushSoon();
    }
  }

  /** When everything that the socket had has been parsed. While one commit runs the next gathers. */
  #flushSoon(): void {
    this.#flush ??= setImmediate(() => {
      this.#flush = null;
      this.#commit();
    });
  }

  /** The order is the invariant: append, then acknowledge, in order of arrival [MQTT-4.6.0-2]. */
  #commit(): void {
    const arrivals = this.#arrivals;
    const messageIds = this.#unacknowledged;
    this.#arrivals = [];
    this.#unacknowledged = [];
    this.#waitingBytes = 0;
    try {
      if (arrivals.length > 0) this.#parts.intake.accept(arrivals);
    } catch (error) {
      if (!(error instanceof JournalError)) throw error;
      this.#refused(error);
      return;
    }
    if (!this.#mayAcknowledge || messageIds.length === 0) return;
    this.#client.stream.write(pubacks(messageIds));
    this.#parts.metrics?.acknowledged.inc(messageIds.length);
  }

  /** Not stored, so not acknowledged: on the next connection the broker sends it again. */
  #refused(error: JournalError): void {
    this.#mayAcknowledge = false;
    this.#parts.metrics?.failedCommits.inc();
    this.#client.stream.destroy();
    this.#state.set(false, [error.message]);
  }

  #closed(): void {
    // The numbers of this connection's messages mean nothing on the next.
    this.#mayAcknowledge = false;
    this.#unacknowledged = [];
    if (this.#arrivals.length > 0) this.#commit();
    this.#state.set(false, this.#state.status.faults);
  }

  publish(topic: string, payload: string, { retain, qos }: PublishOptions): void {
    if (this.#client.connected) this.#client.publish(topic, payload, { retain, qos });
  }

  status() {
    return this.#state.status;
  }

  onStatus(listener: Parameters<Bus['onStatus']>[0]): () => void {
    return this.#state.onStatus(listener);
  }

  /** The broker's last will says `offline` for us; a goodbye that waits for answers could wait for ever. */
  async close(): Promise<void> {
    if (this.#flush !== null) clearImmediate(this.#flush);
    this.#commit();
    await this.#client.endAsync(true);
  }
}

function connectOptions(address: BrokerAddress, collector: string): IClientOptions {
  const { username, password, ca, certificate, key, protocolVersion = 4 } = address;
  return {
    // One name for ever: it is the broker's session.
    clientId: `setwell-${collector}`,
    clean: false,
    protocolVersion,
    ...(protocolVersion === 5 && { properties: { sessionExpiryInterval: 14 * 86_400 } }),
    manualConnect: true,
    resubscribe: false,
    queueQoSZero: false,
    reconnectPeriod: reconnectMs,
    reconnectOnConnackError: true,
    // The library’s own tracing costs a tenth of a message’s way even while nobody reads it.
    log: () => {},
    will: { topic: statusTopic(collector), payload: Buffer.from('offline'), qos: 1, retain: true },
    ...(username !== undefined && { username }),
    ...(password !== undefined && { password }),
    ...(ca !== undefined && { ca }),
    ...(certificate !== undefined && { cert: certificate }),
    ...(key !== undefined && { key }),
  };
}

/**
 * PUBACK packets one behind the other, for one write.
 *
 * A fixed header, two bytes left, the message's number [MQTT 3.1.1, 3.4; in MQTT 5, 3.4.2.1, success needs
 * no more].
 */
function pubacks(messageIds: readonly number[]): Buffer {
  const bytes = Buffer.allocUnsafe(4 * messageIds.length);
  messageIds.forEach((messageId, i) => {
    bytes.writeUInt16BE(0x4002, 4 * i);
    bytes.writeUInt16BE(messageId, 4 * i + 2);
  });
  return bytes;
}

function withoutSecrets(url: string): string {
  const address = new URL(url);
  address.username = '';
  address.password = '';
  return address.href;
}
