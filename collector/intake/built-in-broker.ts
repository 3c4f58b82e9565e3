import { createServer, type Server, type Socket } from 'node:net';
import { createServer as createTlsServer } from 'node:tls';
import { Aedes, type Client, type PublishPacket } from 'aedes';
import type { Clock } from '../clock.ts';
import { JournalError } from '../journal/journal-error.ts';
import type { Metrics } from '../metrics.ts';
import { statusTopic, type Bus, type PublishOptions } from './bus.ts';
import type { BrokerEntry } from './broker-entry.ts';
import { BusState } from './bus-state.ts';
import type { Arrival, Intake, IntakeFault } from './intake.ts';
import { PacketLimit } from './packet-limit.ts';

/** A few hundred controllers are the most a site without a broker of its own has. */
const mostConnections = 1000;

/** Sixteen payloads of the greatest size; a longer packet ends its connection. */
const mostPacketBytes = 1024 * 1024;

export interface BuiltInBrokerParts {
  collector: string;
  intake: Intake;
  clock: Clock;
  metrics?: Metrics;
  port: number;
  /** Absent where this machine alone comes in, and then anybody on it. */
  network?: BrokerNetwork;
}

/** How the plant's network comes in: by TLS, each as somebody. */
export interface BrokerNetwork {
  address: string;
  /** PEM */
  certificate: Buffer;
  key: Buffer;
  /** PEM of the authority that signs clients' certificates, where they come with one. */
  clientsCa?: Buffer;
  entry: BrokerEntry;
}

/** Starts a broker in this process (MQTT 3.1.1), for the demo and small sites. */
export async function startBuiltInBroker(parts: BuiltInBrokerParts): Promise<Bus> {
  const broker = await Aedes.createBroker({ maxClientsIdLength: 256 });
  const bus = new BuiltInBroker(broker, parts);
  await bus.listen();
  return bus;
}

interface Waiting {
  arrival: Arrival;
  done: (error?: Error | null) => void;
}

class BuiltInBroker implements Bus {
  readonly #parts: BuiltInBrokerParts;
  readonly #broker: Aedes;
  readonly #server: Server;
  readonly #state: BusState;
  readonly #host: string;
  readonly #entry: BrokerEntry | null;
  #waiting: Waiting[] = [];
  #flush: NodeJS.Immediate | null = null;

  constructor(broker: Aedes, parts: BuiltInBrokerParts) {
    this.#parts = parts;
    this.#broker = broker;
    const { network } = parts;
    this.#host = network?.address ?? '127.0.0.1';
    this.#entry = network?.entry ?? null;
    const scheme = network === undefined ? 'mqtt' : 'mqtts';
    this.#state = new BusState(`${scheme}://${this.#host}:${parts.port}`, parts.clock);
    this.#server = serverFor(network, (socket) => this.#accept(socket));
    this.#server.maxConnections = mostConnections;
    // The broker acknowledges right after this hook: what it calls back for must be on the disk.
    broker.authorizePublish = (client, packet, done) => this.#publishing(client, packet, done);
    // For one who is away nothing is kept: it would all lie in this process, for as long as he stays away.
    broker.preConnect = (_client, packet, done) => {
      packet.clean = true;
      done(null, true);
    };
    if (this.#entry !== null) this.#guard(this.#entry);
  }

  #guard(entry: BrokerEntry): void {
    this.#broker.authenticate = (client, username, password, done) => {
      entry.admit(client, username ?? '', Buffer.from(password ?? '')).then(
        (isAdmitted) => done(null, isAdmitted),
        () => done(null, false),
      );
    };
    this.#broker.authorizeSubscribe = (client, subscription, done) => {
      done(null, entry.mayRead(client, subscription.topic) ? subscription : null);
    };
  }

  listen(): Promise<void> {
    return new Promise((resolve, reject) => {
      this.#server.once('error', reject);
      this.#server.listen(this.#parts.port, this.#host, () => {
        this.#server.off('error', reject);
        this.#state.set(true, []);
        this.publish(statusTopic(this.#parts.collector), 'online', { retain: true, qos: 1 });
        resolve();
      });
    });
  }

  #accept(socket: Socket): void {
    const limit = new PacketLimit(mostPacketBytes);
    const read = socket.read.bind(socket);
    socket.read = (bytes?: number) => {
      const chunk = read(bytes) as Buffer | null;
      const tooLong = chunk === null ? null : limit.see(chunk);
      if (tooLong === null || chunk === null) return chunk;
      this.#note(chunk, {
        code: 'oversize',
        field: '',
        found: `a packet of ${tooLong} bytes from ${socket.remoteAddress ?? 'a client'}`,
        expected: `at most ${mostPacketBytes} bytes`,
      });
      socket.destroy();
      return null;
    };
    this.#broker.handle(socket);
  }

  /** What is turned away here, for people to read. */
  #note(payload: Buffer, fault: IntakeFault): void {
    try {
      this.#parts.intake.refuse(payload, fault);
    } catch (error) {
      // A full disk keeps no note of it; it is turned away all the same.
      if (!(error instanceof JournalError)) throw error;
    }
  }

  /** `client` is null for a last will that outlived its client's connection. */
  #publishing(
    client: Client | null,
    packet: PublishPacket,
    done: (error?: Error | null) => void,
  ): void {
    const { topic, payload, retain, qos } = packet;
    if (topic.startsWith('$SYS/')) {
      done(new Error("topics below $SYS are the broker's own"));
      return;
    }
    if (this.#entry?.mayWrite(client, topic) === false) {
      this.#note(Buffer.from(payload), {
        code: 'not-allowed',
        field: '',
        found: `${topic.slice(0, 200)} from ${client?.id ?? 'a client'}`,
        expected: 'a topic of the station whose name it came in with',
      });
      done(new Error(`${topic}: not for this client`));
      return;
    }
    const isOurs = /^setwell(-act)?(\/|$)/.test(topic);
    const { topics } = this.#parts.intake;
    // Nor is a message kept under a name that anybody may think of.
    if ('code' in topics.targetOf(topic)) packet.retain = false;
    if (!isOurs && !topics.hears(topic)) {
      done(null);
      return;
    }
    const arrival: Arrival = {
      topic,
      payload: Buffer.isBuffer(payload) ? payload : Buffer.from(payload),
      // It comes from the client itself, now: that the broker shall keep it does not make it old.
      retained: retain && client === null,
      queued: false,
      act: null,
      atMostOnce: qos === 0,
      ...(client === null ? {} : { client: client.id }),
    };
    const refusal = new Error(`${topic}: only the program itself publishes there`);
    this.#waiting.push({ arrival, done: (error) => done(isOurs ? refusal : error) });
    this.#flush ??= setImmediate(() => {
      this.#flush = null;
      this.#commit();
    });
  }

  /** The order is the invariant: append, then acknowledge. A client whose message failed is cut off. */
  #commit(): void {
    const waiting = this.#waiting;
    this.#waiting = [];
    if (waiting.length === 0) return;
    try {
      this.#parts.intake.accept(waiting.map(({ arrival }) => arrival));
    } catch (error) {
      if (!(error instanceof JournalError)) throw error;
      this.#parts.metrics?.failedCommits.inc();
      this.#state.set(true, [error.message]);
      for (const { done } of waiting) done(error);
      return;
    }
    this.#state.set(true, []);
    for (const { done } of waiting) done(null);
    this.#parts.metrics?.acknowledged.inc(waiting.length);
  }

  publish(topic: string, payload: string, { retain, qos }: PublishOptions): void {
    const packet = { cmd: 'publish', topic, payload, retain, qos, dup: false } as const;
    this.#broker.publish(packet, () => {});
  }

  status() {
    return this.#state.status;
  }

  onStatus(listener: Parameters<Bus['onStatus']>[0]): () => void {
    return this.#state.onStatus(listener);
  }

  async close(): Promise<void> {
    this.publish(statusTopic(this.#parts.collector), 'offline', { retain: true, qos: 1 });
    this.#server.close();
    await new Promise<void>((resolve) => this.#broker.close(resolve));
    if (this.#flush !== null) clearImmediate(this.#flush);
    this.#commit();
    this.#state.set(false, []);
  }
}

function serverFor(network: BrokerNetwork | undefined, accept: (socket: Socket) => void): Server {
  if (network === undefined) return createServer(accept);
  const { certificate, key, clientsCa } = network;
  const clients =
    clientsCa === undefined ? {} : { ca: clientsCa, requestCert: true, rejectUnauthorized: true };
  const setting = { cert: certificate, key, minVersion: 'TLSv1.2' as const, ...clients };
  return createTlsServer(setting, accept);
}
