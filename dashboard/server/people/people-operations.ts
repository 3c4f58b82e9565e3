import type { RequestHandler } from 'express';
import { z } from 'zod';
import { operation, type Operation } from '../operation.ts';
import { Problem } from '../problem.ts';
import { jobs, type Person } from '@setwell/shared-models/api/people';
import { peopleAtMost } from './people-db.ts';
import { digestOf, hashed } from './secrets.ts';
import { demandUncommon } from './common-password.ts';
import { granted, password, personName, pin, type SignInParts } from './sign-in-operations.ts';

interface Given {
  password?: string | undefined;
  pin?: string | undefined;
  badge?: string | undefined;
  subject?: string | undefined;
}

const actId = z.uuid();
const job = z.enum(jobs);
const hall = z.string().min(1).max(120);
const secrets = {
  password: password.optional(),
  pin: pin.optional(),
  badge: z.string().min(4).max(200).optional(),
  /** Who he is for the plant's own sign-in service: its `sub`. */
  subject: z.string().min(1).max(255).optional(),
};

/** Letting people in and out. The ledger keeps who was granted what by whom; names and secrets stay here. */
export function peopleOperations(parts: SignInParts, guards: RequestHandler[]): Operation[] {
  // Longer than the limit because it is a table: one act after the other, each whole.
  const { db, act, nowMs } = parts;
  const known = (id: string | undefined): Person => {
    const person = db.person(id ?? '');
    if (person === null) throw new Problem(404, 'not-found', `No person "${id ?? ''}" is known.`);
    return person;
  };
  const subjectOf = (subject: string): string => {
    if (parts.signOn === null) {
      const text = 'This plant has no sign-in service of its own.';
      throw new Problem(422, 'bad-input', text, { field: 'subject' });
    }
    return parts.signOn.subjectOf(subject);
  };
  const kept = async (given: Given) => ({
    ...(given.password === undefined ? {} : { password: await hashed(given.password) }),
    ...(given.pin === undefined ? {} : { pin: await hashed(given.pin) }),
    ...(given.badge === undefined ? {} : { badge: digestOf(given.badge) }),
    ...(given.subject === undefined ? {} : { subject: subjectOf(given.subject) }),
  });
  return [
    operation({
      method: 'get',
      path: '/people',
      summary: 'Who has which jobs, since when it may end, and who was let out',
      answer: 'people',
      handle: () => ({ people: db.people() }),
    }),
    operation({
      method: 'get',
      path: '/people/noted',
      summary: 'Sign-ins, and who was refused what, of the last 90 days, newest first',
      query: z.strictObject({ limit: z.coerce.number().int().min(1).max(1000).default(200) }),
      answer: 'noted',
      handle: ({ query }) => ({ noted: db.noted(query.limit) }),
    }),
    operation({
      method: 'post',
      path: '/people',
      summary: 'Somebody is let in',
      guards,
      body: z.strictObject({
        id: actId,
        by: z.string().max(60).optional(),
        name: personName,
        jobs: z.array(job).min(1).max(jobs.length),
        halls: z.array(hall).min(1).max(100).nullable().default(null),
        endsMs: z.number().int().positive().nullable().default(null),
        ...secrets,
      }),
      answer: 'the person, and the number of the entry',
      handle: async ({ body, by, signed }) => {
        if (db.named(body.name) !== null) {
          throw new Problem(409, 'taken', `"${body.name}" is here already.`, { field: 'name' });
        }
        if (db.people().length >= peopleAtMost) throw new Problem(409, 'full', 'Too many people.');
        if (body.jobs.includes('auditor') && body.endsMs === null) {
          throw new Problem(422, 'bad-input', 'An auditor’s account needs an end.', {
            field: 'endsMs',
          });
        }
        const { name, halls, endsMs } = body;
        if (body.password !== undefined) demandUncommon(body.password, [name, parts.site()]);
        const person: Person = {
          id: db.nextId(parts.lastGranted()),
          name,
          jobs: body.jobs,
          halls,
          endsMs,
          revokedMs: null,
        };
        const secret = await kept(body);
        const sent = await act({ ...granted(person, by, body.id), ...signed });
        db.put(person, secret);
        return { person, ...sent };
      },
    }),
    operation({
      method: 'post',
      path: '/people/{id}/revoke',
      summary: 'Somebody is let out, with every browser he is signed in at',
      guards,
      body: z.strictObject({ id: actId, by: z.string().max(60).optional() }),
      answer: 'number of the entry',
      handle: async ({ params, body, by, signed }) => {
        const person = known(params['id']);
        const others = db
          .people()
          .filter((each) => each.revokedMs === null && each.id !== person.id)
          .some((each) => each.jobs.includes('administrator'));
        if (person.jobs.includes('administrator') && !others) {
          throw new Problem(
            409,
            'last',
            'The last administrator stays, or nobody could let people in.',
          );
        }
        const about = {};
        const answer = await act({
          ...{ id: body.id, kind: 'person-revoked', by, about, ...signed },
          body: { person: person.id },
        });
        db.revoke(person.id, nowMs());
        return answer;
      },
    }),
    operation({
      method: 'post',
      path: '/people/{id}/secrets',
      summary: 'A new password, PIN or badge; every browser he is signed in at ends',
      guards,
      body: z.strictObject({
        id: z.uuid().optional(),
        by: z.string().max(60).optional(),
        ...secrets,
      }),
      answer: 'nothing',
      handle: async ({ params, body, raw, by }) => {
        const person = known(params['id']);
        if (body.password !== undefined) {
          demandUncommon(body.password, [person.name, parts.site()]);
        }
        db.put(person, await kept(body));
        db.endAllOf(person.id);
        parts.log.note(`secrets-of-${person.id}`, by, raw);
        return {};
      },
    }),
    operation({
      method: 'post',
      path: '/people/{id}/erase',
      summary: 'The name of somebody who was let out is forgotten; his number stays on the record',
      guards,
      body: z.strictObject({ id: z.uuid().optional(), by: z.string().max(60).optional() }),
      answer: 'nothing',
      handle: ({ params }) => {
        const person = known(params['id']);
        if (person.revokedMs === null) {
          throw new Problem(409, 'still-here', 'Let the person out first.');
        }
        db.erase(person.id);
        return {};
      },
    }),
  ];
}
