import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import express, { type Request, type RequestHandler, type Router } from 'express';
import type { LiveFeed } from './live-feed.ts';
import { Problem } from './problem.ts';

/** Marks where the built page takes what it must know before its first frame. */
const plantMark = '<!--plant-->';

/** Data inside a page cannot end its element or open a comment. */
const inPage = (value: unknown): string => JSON.stringify(value).replaceAll('<', '\\u003c');

/**
 * The built web page. Its files carry their digest in their name and may be kept for ever; the page
 * itself is asked for anew each time, and brings the station names with it.
 */
export function webPage(
  folder: string,
  feed: LiveFeed,
  mayLook: (request: Request) => boolean,
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
    const block =
      site === null || !mayLook(request)
        ? ''
        : `<script type="application/json" id="plant">${inPage({ site: site.site, stations: site.stations })}</script>`;
    response.setHeader('cache-control', 'no-cache');
    response.type('html').send(html.replace(plantMark, block));
  };
  router.get(
    ['/', '/floor', '/load/{*rest}', '/calls', '/lots', '/lots/{*rest}', '/start', '/sensors'],
    page,
  );
  return router;
}
