import type { CallRaised, Job } from '../record/bodies.ts';

/** A way in which people are told away from the screens; addresses stay in plant.yaml. */
export interface ToldRoute {
  id: string;
  by: 'mail' | 'webhook' | 'lamp';
  jobs: Job[];
}

/** One message, from the moment it was owed until it was taken or given up. */
export interface ToldMessage {
  id: number;
  route: string;
  /** Calls it tells of, as they were raised; empty: a test. Those that are forgotten here are left out. */
  about: (CallRaised & { raisedMs: number })[];
  isTest: boolean;
  madeMs: number;
  dueMs: number;
  tries: number;
  sentMs: number | null;
  givenUpMs: number | null;
  /** What the last try ended with; no secret is in it. */
  fault: string | null;
}

/** `GET /outbox`: newest message first. */
export interface ToldPeople {
  nowMs: number;
  routes: ToldRoute[];
  messages: ToldMessage[];
}
