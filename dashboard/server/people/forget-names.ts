import type { SignInParts } from './sign-in-operations.ts';

const dayMs = 86_400_000;
/** Names go within an hour of their day. */
const everyMs = 3_600_000;

type ForgetParts = Pick<SignInParts, 'db' | 'nowMs' | 'namesKeptD'>;

/** Forgets the names of those whose accounts ended long enough ago, from now on. @returns ends it */
export function forgetNames(parts: ForgetParts): () => void {
  const timer = setInterval(() => forgetNow(parts), everyMs);
  return () => clearInterval(timer);
}

/** The number stays, on the record and here; an account that is over is let out first. */
export function forgetNow({ db, nowMs, namesKeptD }: ForgetParts): void {
  const keptD = namesKeptD();
  if (keptD === null) return;
  for (const { id, name, revokedMs, endsMs } of db.people()) {
    const endedMs = revokedMs ?? endsMs;
    if (name === id || endedMs === null || nowMs() - endedMs < keptD * dayMs) continue;
    if (revokedMs === null) db.revoke(id, endedMs);
    db.erase(id);
  }
}
