import { createHash } from 'node:crypto';
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import { plantMs, type ClockSetting } from '@setwell/shared-models/api/clock';
import type {
  ReadingFrame,
  Act,
  Hello,
  Judgement,
  PointNow,
  Reject,
  StationNow,
} from '@setwell/shared-models/api/collector';
import type { About, Entry, EntryKind } from '@setwell/shared-models/record/entry';
import type { LoadTrace } from '@setwell/shared-models/score/shape';
import { freePort } from '../fixtures/free-port.ts';

/**
 * The collector's small interface over real HTTP, with a state that a test writes: for screens and for the
 * dashboard's contract. It judges nothing; what it says is what it was told to say.
 */
export class FakeCollector {
  readonly token = 'fake-token';
  clock: ClockSetting;
  hello: Hello;
  readonly entries: string[] = [];
  readonly judgements = new Map<string, Judgement>();
  readonly stations = new Map<string, StationNow>();
  readonly traces = new Map<string, LoadTrace>();
  /** What is told of a picture while it is drawn, and when it is done; null: it is drawn at once. */
  drawing: { shares: number[]; done: Promise<void> } | null = null;
  readonly blobs = new Map<string, string>();
  readonly acts: Act[] = [];
  points: PointNow[] = [];
  rejects: Reject[] = [];
  /** By address below `/heat-ups`: `''`, `press-1`, `press-1/p1-ul`. */
  readonly heatUps = new Map<string, unknown>();
  /** By address: what few screens ask for. */
  readonly told = new Map<string, unknown>();
  /** By station. */
  readonly surveys = new Map<string, unknown>();
  /** Answers an act before it is taken: a refusal, or null to take it. */
  refuse: (act: Act) => { status: number; body: object } | null = () => null;
  /** Called once an act is on the ledger: what a real judge would do next. */
  onAct: (act: Act) => void = () => undefined;
  notReady: string | null = null;
  /** Until then who asks for the ledger gets no answer: a collector that is busy. */
  ledgerHeld: Promise<void> | null = null;
  greeted = 0;
  readonly #answered = new Map<string, Entry>();
  #server: Server | null = null;
  #port = 0;
  readonly #ledgerFollowers = new Set<ServerResponse>();
  readonly #judgeFollowers = new Set<ServerResponse>();
  readonly #readingFollowers = new Set<ServerResponse>();

  constructor(hello: Omit<Hello, 'nowMs' | 'clock'>, clock: ClockSetting) {
    this.clock = clock;
    this.hello = { ...hello, clock, nowMs: 0 };
  }

  get url(): string {
    return `http://127.0.0.1:${this.#port}`;
  }

  nowMs(): number {
    return plantMs(this.clock, Date.now());
  }

  /** Listens; after a stop on the same port as before, so that what followed it finds it again. */
  async start(): Promise<void> {
    const server = createServer((request, response) => {
      this.#answer(request, response).catch((error: unknown) => {
        response.destroy(error instanceof Error ? error : undefined);
      });
    });
    this.#server = server;
    this.#port ||= await freePort();
    await new Promise<void>((resolve) => server.listen(this.#port, '127.0.0.1', resolve));
  }

  async stop(): Promise<void> {
    const server = this.#server;
    if (server === null) return;
    this.#server = null;
    await new Promise((resolve) => {
      server.close(resolve);
      server.closeAllConnections();
    });
  }

  append(
    kind: EntryKind,
    about: About,
    body: object,
    by = 'collector',
    atMs = this.nowMs(),
  ): Entry {
    const entry: Entry = {
      v: 1,
      log: this.hello.log,
      n: this.entries.length,
      at: Math.round(atMs),
      kind,
      by,
      about,
      cites: [],
      body,
    };
    const line = JSON.stringify(entry);
    this.entries.push(line);
    for (const follower of this.#ledgerFollowers) follower.write(`${line}\n`);
    return entry;
  }

  judge(judgement: Judgement): void {
    this.judgements.set(judgement.load, judgement);
    for (const follower of this.#judgeFollowers) follower.write(`${JSON.stringify(judgement)}\n`);
  }

  station(now: StationNow): void {
    this.stations.set(now.station, now);
    for (const follower of this.#judgeFollowers) follower.write(`${JSON.stringify(now)}\n`);
  }

  /** Newest values, to whoever follows them. */
  read(points: ReadingFrame['points']): void {
    const line = JSON.stringify({ asOfMs: this.nowMs(), points });
    for (const follower of this.#readingFollowers) follower.write(`${line}\n`);
  }

  /** How many follow the ledger now. */
  get ledgerFollowers(): number {
    return this.#ledgerFollowers.size;
  }

  /** How many follow the readings now. */
  get readingFollowers(): number {
    return this.#readingFollowers.size;
  }

  keepBlob(value: object): { sha256: string; bytes: number } {
    const text = JSON.stringify(value);
    const sha256 = createHash('sha256').update(text).digest('hex');
    this.blobs.set(sha256, text);
    return { sha256, bytes: text.length };
  }

  async #answer(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const url = new URL(request.url ?? '/', 'http://fake');
    if (request.headers.authorization !== `Bearer ${this.token}`) {
      response.writeHead(401).end();
      return;
    }
    const json = (value: unknown): void => {
      response.setHeader('content-type', 'application/json');
      response.end(JSON.stringify(value));
    };
    const [, door = '', name = '', more] = url.pathname.split('/').map(decodeURIComponent);
    const found = <T>(value: T | undefined): void => {
      if (value === undefined) response.writeHead(404).end('{}');
      else if (typeof value === 'string') response.end(value);
      else json(value);
    };
    switch (door) {
      case 'hello':
        this.greeted += 1;
        json({ ...this.hello, clock: this.clock, nowMs: this.nowMs() });
        return;
      case 'health':
        if (name === 'now') found(this.told.get(url.pathname));
        else if (this.notReady === null) json({ ready: true });
        else response.writeHead(503).end(JSON.stringify({ because: this.notReady }));
        return;
      case 'follow':
        if (name === 'ledger') await this.ledgerHeld;
        this.#follow(name, Number(url.searchParams.get('after') ?? -1), response);
        return;
      case 'trace':
        if (url.searchParams.has('told')) await this.#drawn(this.traces.get(name), response);
        else found(this.traces.get(name));
        return;
      case 'blob':
        found(this.blobs.get(name));
        return;
      case 'points':
        json(this.points);
        return;
      case 'rejects':
        json(this.rejects);
        return;
      case 'readings':
        json({ point: url.searchParams.get('point'), fromMs: 0, toMs: 0, steps: [], older: null });
        return;
      case 'heat-ups':
        found(this.heatUps.get(more === undefined ? name : `${name}/${more}`));
        return;
      case 'surveys':
        found(this.surveys.get(name));
        return;
      case 'records':
        if (url.searchParams.get('as') === 'csv') {
          response.setHeader('content-type', 'text/csv');
          response.end(`lot,load\r\n${name},P1-00231\r\n`);
        } else json({ lot: name });
        return;
      case 'acts':
        await this.#take(request, response);
        return;
      default:
        found(this.told.get(url.pathname));
    }
  }

  /** As the collector draws: how far it is, line by line, and in the last one the picture. */
  async #drawn(trace: LoadTrace | undefined, response: ServerResponse): Promise<void> {
    if (trace === undefined) {
      response.writeHead(404).end('{}');
      return;
    }
    response.writeHead(200, { 'content-type': 'application/x-ndjson' });
    for (const share of this.drawing?.shares ?? [])
      response.write(`${JSON.stringify({ share })}\n`);
    await this.drawing?.done;
    response.end(`${JSON.stringify({ trace })}\n`);
  }

  #follow(what: string, after: number, response: ServerResponse): void {
    response.writeHead(200, { 'content-type': 'application/x-ndjson' });
    response.flushHeaders();
    const judged = () => [...this.stations.values(), ...this.judgements.values()];
    const [followers, lines] =
      what === 'ledger'
        ? [this.#ledgerFollowers, this.entries.slice(after + 1)]
        : what === 'readings'
          ? [this.#readingFollowers, []]
          : [this.#judgeFollowers, judged().map((it) => JSON.stringify(it))];
    followers.add(response);
    response.on('close', () => followers.delete(response));
    for (const line of lines) response.write(`${line}\n`);
  }

  async #take(request: IncomingMessage, response: ServerResponse): Promise<void> {
    const chunks: Buffer[] = [];
    for await (const chunk of request) chunks.push(chunk as Buffer);
    const act = JSON.parse(Buffer.concat(chunks).toString('utf8')) as Act;
    const refusal = this.refuse(act);
    if (refusal !== null) {
      response.writeHead(refusal.status).end(JSON.stringify(refusal.body));
      return;
    }
    let entry = this.#answered.get(act.id);
    if (entry === undefined) {
      this.acts.push(act);
      entry =
        act.kind === 'call-acknowledged' ||
        act.kind === 'person-granted' ||
        act.kind === 'person-revoked' ||
        act.kind === 'setup-offered'
          ? this.append(act.kind, act.about, act.body, act.by)
          : this.append('load-corrected', act.about, correction(act.body), act.by);
      this.#answered.set(act.id, entry);
      this.onAct(act);
    }
    response.setHeader('content-type', 'application/json');
    response.end(JSON.stringify({ n: entry.n, entry }));
  }
}

/** An entry that answers an act and changes nothing of what is shown. */
function correction(asked: object): object {
  return { asked, reason: null, change: { what: 'readings' } };
}
