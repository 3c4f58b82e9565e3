import type { RequestHandler } from 'express';
import { rateLimit } from 'express-rate-limit';
import helmet from 'helmet';
import { Problem, sendProblem } from './problem.ts';

/** No inline script or style, nothing from elsewhere, no frame around it. */
export const securityHeaders = (secure: boolean): RequestHandler =>
  helmet({
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
    // Where pages are served in plain HTTP, asking browsers for TLS would lock them out.
    strictTransportSecurity: secure ? { maxAge: 31_536_000 } : false,
    crossOriginOpenerPolicy: { policy: 'same-origin' },
    referrerPolicy: { policy: 'no-referrer' },
  });

const tooMany: RequestHandler = (_request, response) => {
  sendProblem(response, new Problem(429, 'too-many', 'Too many requests; try again in a minute.'));
};

/** Requests a minute from one address. */
export interface RequestLimits {
  readsPerMin: number;
  actsPerMin: number;
}

/** Fifty browsers behind one proxy, each with a page of ten answers a second at the worst; more acts than all hands of a hall can do. */
export const usualLimits: RequestLimits = { readsPerMin: 30_000, actsPerMin: 120 };

export function limitPerMin(limit: number): RequestHandler {
  return rateLimit({
    windowMs: 60_000,
    limit,
    standardHeaders: 'draft-7',
    legacyHeaders: false,
    handler: tooMany,
  });
}

/** Refuses a page of another site that points its name at this address. */
export function knownHost(names: readonly string[]): RequestHandler {
  const hosts = new Set(names.map((name) => name.toLowerCase()));
  return (request, _response, next) => {
    const host = (request.headers.host ?? '').replace(/:\d+$/, '').toLowerCase();
    if (!hosts.has(host)) {
      const known = [...hosts].join(', ');
      throw new Problem(
        421,
        'host',
        `This server answers to ${known}, not to "${host.slice(0, 80)}".`,
      );
    }
    next();
  };
}

/** A write must come from a page of this server: browsers say where from, and a form cannot send JSON. */
export const sameOrigin: RequestHandler = (request, _response, next) => {
  const site = request.headers['sec-fetch-site'];
  if (site !== undefined && site !== 'same-origin' && site !== 'none') {
    throw new Problem(403, 'other-site', 'Acts are taken from this server’s own pages only.');
  }
  const origin = request.headers.origin;
  if (origin !== undefined && origin !== `${request.protocol}://${request.headers.host}`) {
    throw new Problem(403, 'other-site', 'Acts are taken from this server’s own pages only.');
  }
  if (request.is('application/json') !== 'application/json') {
    throw new Problem(415, 'not-json', 'An act is sent as application/json.');
  }
  next();
};
