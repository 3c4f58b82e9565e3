import type { RequestHandler } from 'express';
import { rateLimit } from 'express-rate-limit';
import helmet from 'helmet';
import { Problem, sendProblem } from './problem.ts';

/** Fifty browsers behind one proxy, each with a page of ten answers a second at the worst. */
const readsPerMin = 30_000;
/** More acts a minute than all hands of a hall can do. */
const actsPerMin = 120;

/** No inline script or style, nothing from elsewhere, no frame around it. */
export const securityHeaders: RequestHandler = helmet({
  contentSecurityPolicy: {
    useDefaults: false,
    directives: {
      defaultSrc: ["'none'"],
      scriptSrc: ["'self'"],
      styleSrc: ["'self'"],
      fontSrc: ["'self'"],
      imgSrc: ["'self'", 'data:'],
      connectSrc: ["'self'"],
      manifestSrc: ["'self'"],
      baseUri: ["'none'"],
      formAction: ["'self'"],
      frameAncestors: ["'none'"],
    },
  },
  // Plain HTTP on the box itself: asking browsers for TLS would lock them out.
  strictTransportSecurity: false,
  crossOriginOpenerPolicy: { policy: 'same-origin' },
  referrerPolicy: { policy: 'no-referrer' },
});

const tooMany: RequestHandler = (_request, response) => {
  sendProblem(response, new Problem(429, 'too-many', 'Too many requests; try again in a minute.'));
};

export const limitReads: RequestHandler = rateLimit({
  windowMs: 60_000,
  limit: readsPerMin,
  standardHeaders: 'draft-7',
  legacyHeaders: false,
  handler: tooMany,
});

export function limitActs(): RequestHandler {
  return rateLimit({
    windowMs: 60_000,
    limit: actsPerMin,
    standardHeaders: 'draft-7',
    legacyHeaders: false,
    handler: tooMany,
  });
}

/** Names under which this machine alone can reach the server; anything else is another site's trick. */
const loopbackHosts = new Set(['127.0.0.1', 'localhost', '[::1]']);

/** Refuses a page of another site that points its name at this address. */
export const loopbackHost: RequestHandler = (request, _response, next) => {
  const host = (request.headers.host ?? '').replace(/:\d+$/, '');
  if (!loopbackHosts.has(host)) {
    throw new Problem(
      421,
      'host',
      `This server answers to localhost, not to "${host.slice(0, 80)}".`,
    );
  }
  next();
};

/** A write must come from a page of this server: browsers say where from, and a form cannot send JSON. */
export const sameOrigin: RequestHandler = (request, _response, next) => {
  const site = request.headers['sec-fetch-site'];
  if (site !== undefined && site !== 'same-origin' && site !== 'none') {
    throw new Problem(403, 'other-site', 'Acts are taken from this server’s own pages only.');
  }
  const origin = request.headers.origin;
  if (origin !== undefined && origin !== `http://${request.headers.host}`) {
    throw new Problem(403, 'other-site', 'Acts are taken from this server’s own pages only.');
  }
  if (request.is('application/json') !== 'application/json') {
    throw new Problem(415, 'not-json', 'An act is sent as application/json.');
  }
  next();
};
