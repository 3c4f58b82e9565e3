import { randomBytes } from 'node:crypto';
import { mkdirSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { join } from 'node:path';
import { createApp } from './app.ts';
import { CollectorClient } from './collector-client.ts';
import { Follower } from './follower.ts';
import { LiveFeed } from './live-feed.ts';
import { ViewDb } from './view-db.ts';

export interface DashboardSettings {
  collectorUrl: string;
  token: string;
  /** 0: any free one. */
  port: number;
  dataFolder: string;
  webFolder: string;
  version: string;
  log: (line: string) => void;
}

export interface Dashboard {
  port: number;
  stop(): Promise<void>;
}

/** Starts the whole dashboard on loopback and answers once it listens. */
export async function startDashboard(settings: DashboardSettings): Promise<Dashboard> {
  mkdirSync(settings.dataFolder, { recursive: true });
  const view = new ViewDb(join(settings.dataFolder, 'view.db'));
  const client = new CollectorClient({ url: settings.collectorUrl, token: settings.token });
  const epoch = randomBytes(6).toString('hex');
  // The feed asks the time of a follower that is made of the feed: hence the late look.
  const feed: LiveFeed = new LiveFeed(epoch, () => follower.nowMs());
  const follower: Follower = new Follower({ client, view, feed, log: settings.log });
  const app = createApp({
    client,
    follower,
    feed,
    view,
    version: settings.version,
    webFolder: settings.webFolder,
    log: settings.log,
  });
  const server = createServer(app);
  await listening(server, settings.port);
  follower.tellKnown();
  follower.start();
  return {
    port: (server.address() as AddressInfo).port,
    stop: async () => {
      follower.stop();
      feed.stop();
      await new Promise((resolve) => {
        server.close(resolve);
        server.closeAllConnections();
      });
      view.close();
    },
  };
}

function listening(server: Server, port: number): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', reject);
    server.listen(port, '127.0.0.1', () => {
      server.off('error', reject);
      resolve();
    });
  });
}
