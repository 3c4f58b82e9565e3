import { createHash } from 'node:crypto';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import express, { type Request, type RequestHandler, type Router } from 'express';
import type { PageBlock } from '@setwell/shared-models/api/page';
import type { LiveFeed } from './live-feed.ts';
import type { HallReach } from './people/hall-reach.ts';
import { Problem } from './problem.ts';

/** Marks where the built page takes what it must know before its first frame. */
const plantMark = '<!--plant-->';

/** Names the page as built: its files carry their digests, so the page's own digest names them all. */
export function pageName(folder: string): string {
  const file = join(folder, 'index.html');
  if (!existsSync(file)) return 'not built';
  return createHash('sha256').update(readFileSync(file)).digest('hex').slice(0, 16);
}

/** Data inside a page cannot end its element or open a comment. */
const inPage = (value: unknown): string => JSON.stringify(value).replaceAll('<', '\\u003c');

/**
 * The built web page. Its files carry their digest in their name and may be kept for ever; the page
 * itself is asked for anew each time, and brings the station names with it.
 */
export function webPage(
  folder: string,
  feed: LiveFeed,
  name: string,
  {
    mayLook,
    reachOf,
  }: {
    mayLook: (request: Request) => boolean;
    reachOf: (request: Request) => HallReach | null;
  },
): Router {
  const router = express.Router();
  router.use('/assets', express.static(join(folder, 'assets'), { immutable: true, maxAge: '1y' }));
  router.use('/assets', () => {
    throw new Problem(404, 'not-found', 'No such file: the page may be of another version.');
  });
  router.get('/sign.svg', (_request, response) => {
    response.sendFile(join(folder, 'sign.svg'), { maxAge: '1d' });
  });
  const page: RequestHandler = (request, response, next) => {
    if (request.method !== 'GET' && request.method !== 'HEAD') {
      next();
      return;
    }
    const html = readFileSync(join(folder, 'index.html'), 'utf8');
    const { site } = feed.state;
    const whole =
      site === null || !mayLook(request) ? null : { site: site.site, stations: site.stations };
    const plant = reachOf(request)?.of(whole) ?? whole;
    const brought: PageBlock = { page: name, plant };
    const block = `<script type="application/json" id="plant">${inPage(brought)}</script>`;
    response.setHeader('cache-control', 'no-cache');
    response.type('html').send(html.replace(plantMark, () => block));
  };
  router.get(
    [
      '/',
      '/floor',
      '/sensors/{*rest}',
      '/load/{*rest}',
      '/last/{*rest}',
      '/calls',
      '/lots',
      '/lots/{*rest}',
      '/hold-tag/{*rest}',
      '/records',
      '/records/{*rest}',
      '/start',
      '/start/{*rest}',
      '/handover',
      '/search/{*rest}',
      '/recipes',
      '/recipes/{*rest}',
      '/scanner',
      '/act-card/{*rest}',
      '/heat-up',
      '/heat-up/{*rest}',
      '/sensors',
      '/settings',
      '/settings/upkeep',
      '/settings/people-kept',
    ],
    page,
  );
  return router;
}
