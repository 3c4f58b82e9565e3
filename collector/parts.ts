import { Adviser } from './advice/adviser.ts';
import { Condition } from './condition/condition.ts';
import { Exports } from './export/exports.ts';
import { ImpactReviews } from './export/impact-reviews.ts';
import { LotFiling } from './export/lot-filing.ts';
import { LotRetention } from './export/lot-retention.ts';
import { Keeping } from './journal/keeping.ts';
import { CheckpointPost } from './ledger/checkpoint-post.ts';
import { JournalHours } from './ledger/journal-hours.ts';
import { CheckpointMail } from './notify/checkpoint-mail.ts';
import { Notify } from './notify/notify.ts';
import type { Collected, Part } from './part.ts';
import { Health } from './serve/health/health.ts';
import { Instruments } from './serve/instruments.ts';
import { Heartbeat } from './uplink/heartbeat.ts';

/** Everything that follows the collector beside the judge; a new follower is one line here. */
export function partsOf(collected: Collected): Part[] {
  return [
    new Adviser(collected),
    new LotFiling(collected),
    new JournalHours(collected),
    new CheckpointPost(collected),
    new CheckpointMail(collected),
    new Exports(collected),
    new Condition(collected),
    new Keeping(collected),
    new LotRetention(collected),
    new Health(collected),
    new Heartbeat(collected),
    new Notify(collected),
    new Instruments(collected),
    new ImpactReviews(collected),
  ];
}
