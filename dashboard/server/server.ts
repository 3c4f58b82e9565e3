import { randomBytes } from 'node:crypto';
import { mkdirSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import { createServer as createTlsServer } from 'node:https';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import { createApp } from './app.ts';
import { CollectorClient } from './collector-client.ts';
import { Follower } from './follower.ts';
import type { RequestLimits } from './guard.ts';
import { LiveFeed } from './live-feed.ts';
import { PeopleDb } from './people/people-db.ts';
import { Proving } from './people/proving.ts';
import { SecurityLog } from './people/security-log.ts';
import { ReadingStream } from './reading-stream.ts';
import { offerSetup, type SignInParts } from './people/sign-in-operations.ts';
import { forgetNames } from './people/forget-names.ts';
import { SignOn, type SignOnSetting } from './people/sign-on.ts';
import { reportWalls } from './people/wall-report.ts';
import { Who } from './people/who.ts';
import { ViewDb } from './view-db.ts';

export interface DashboardSettings {
  collectorUrl: string;
  token: string;
  /** 0: any free one. */
  port: number;
  dataFolder: string;
  webFolder: string;
  /** Requests a minute from one address; the usual ones where it is left out. */
  limits?: RequestLimits;
  /** Where pages are reached from; loopback where it is left out. */
  address?: DashboardAddress;
  /** The plant's own sign-in service, where it has one. */
  signOn?: SignOnSetting;
  version: string;
  /** How often the collector is greeted and its clock seen anew [ms]. */
  greetEveryMs?: number;
  /** How long a ledger that answers may take to show an entry that it must have [ms]. */
  knownEntryWithinMs?: number;
  /** How often a stream says that it lives, and looks whether its reader still may [ms]. */
  beatEveryMs?: number;
  /** What sign-ins, sessions and walls are timed by [ms]; the machine's own clock where it is left out. */
  nowMs?: () => number;
  log: (line: string) => void;
}

/** An address beyond this machine: by TLS, or in plain HTTP where somebody has said so. */
export interface DashboardAddress {
  host: string;
  /** Names that browsers use for it. */
  names: string[];
  tls: { cert: Buffer; key: Buffer } | null;
}

export interface Dashboard {
  port: number;
  /** Holds the code for the first administrator; null where there is one, or on the demo. */
  setupFile: string | null;
  stop(): Promise<void>;
}

/** The collector's clock, recipes and broker are seen anew, a dead link is noticed. */
const greetEveryMs = 2_000;

const beatEveryMs = 20_000;

const loopback = { host: '127.0.0.1', names: ['127.0.0.1', 'localhost', '[::1]'] };

/**
 * Starts the whole dashboard and answers once it listens.
 *
 * It keeps to this machine until somebody may administer it, whatever address was asked for.
 */
export async function startDashboard(settings: DashboardSettings): Promise<Dashboard> {
  const { dataFolder, log } = settings;
  mkdirSync(dataFolder, { recursive: true, mode: 0o700 });
  const view = new ViewDb(join(dataFolder, 'view.db'));
  const db = new PeopleDb(join(dataFolder, 'people.db'));
  const client = new CollectorClient({ url: settings.collectorUrl, token: settings.token });
  const epoch = randomBytes(6).toString('hex');
  // The feed asks the time of a follower that is made of the feed: hence the late look.
  const feed: LiveFeed = new LiveFeed(epoch, () => follower.nowMs());
  const follower: Follower = new Follower({
    ...{ client, view, feed, log },
    greetEveryMs: settings.greetEveryMs ?? greetEveryMs,
    knownEntryWithinMs: settings.knownEntryWithinMs,
  });
  const { host, names, tls } = reached(settings, db);
  const people = peopleOf(settings, { db, follower, client, tls: tls !== null, host });
  const readings = new ReadingStream(client);
  const app = createApp({
    ...{ client, follower, feed, readings, view, people, log },
    version: settings.version,
    webFolder: settings.webFolder,
    ...(settings.limits === undefined ? {} : { limits: settings.limits }),
    beatEveryMs: settings.beatEveryMs ?? beatEveryMs,
    hosts: [...new Set([...loopback.names, ...names])],
  });
  const isWaiting = offerSetup(people);
  const server = tls === null ? createServer(app) : createTlsServer(tls, app);
  await listening(server, settings.port, host);
  follower.tellKnown();
  follower.start();
  const { version, greetEveryMs: everyMs = greetEveryMs } = settings;
  const endReport = reportWalls({ db, client, version, nowMs: people.nowMs, everyMs });
  const endForgetting = forgetNames(people);
  return {
    port: (server.address() as AddressInfo).port,
    setupFile: isWaiting ? people.setupFile : null,
    stop: async () => {
      endReport();
      endForgetting();
      follower.stop();
      feed.stop();
      readings.stop();
      await new Promise((resolve) => {
        server.close(resolve);
        server.closeAllConnections();
      });
      view.close();
      db.close();
    },
  };
}

function reached({ address, log }: DashboardSettings, db: PeopleDb): DashboardAddress {
  if (address === undefined) return { ...loopback, tls: null };
  if (loopback.names.includes(address.host) || db.hasAdministrator()) return address;
  log(`nobody may administer yet: pages answer at ${loopback.host} only, not at ${address.host}`);
  return { ...loopback, tls: address.tls };
}

function peopleOf(
  { dataFolder, log: say, signOn, nowMs = () => Date.now() }: DashboardSettings,
  {
    db,
    follower,
    client,
    tls,
    host,
  }: { db: PeopleDb; follower: Follower; client: CollectorClient; tls: boolean; host: string },
): SignInParts {
  const isDemo = () => follower.hello?.site.demo ?? false;
  const setupFile = join(dataFolder, 'setup-code');
  const who = new Who({
    ...{ db, isDemo, nowMs, secure: tls },
    readingIsOpen: () => follower.hello?.site.reading === 'open',
    hallOf: (station) => follower.hello?.stations.find(({ id }) => id === station)?.hall ?? null,
  });
  const log = new SecurityLog(db, nowMs, say);
  return {
    ...{ db, who, log, nowMs, isDemo, setupFile, secure: tls },
    proving: new Proving(log, nowMs),
    site: () => follower.hello?.site.id ?? '',
    lastGranted: () => follower.hello?.lastPerson ?? 0,
    namesKeptD: () => follower.hello?.site.namesKeptD ?? null,
    signOn: signOn === undefined ? null : new SignOn(signOn, nowMs),
    plainHttp: !tls && !loopback.names.includes(host),
    act: (act) => client.act(act),
  };
}

function listening(server: Server, port: number, host: string): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(port, host, () => {
      server.off('error', reject);
      resolve();
    });
  });
}
