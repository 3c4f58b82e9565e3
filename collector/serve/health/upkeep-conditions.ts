import type { Condition, HealthNow } from '@setwell/shared-models/api/health';
import { dayMs, upkeepLimits } from '@setwell/shared-models/api/upkeep';

/**
 * What of the upkeep needs somebody.
 *
 * @param beganMs when the log began: nobody has a copy of what is a day old
 * @param isDemo an invented plant is made anew, not put back
 */
export function upkeepConditions(
  { upkeep, nowMs, disk }: Pick<HealthNow, 'upkeep' | 'nowMs' | 'disk'>,
  versionNow: string,
  { beganMs, isDemo }: { beganMs: number; isDemo: boolean },
): Condition[] {
  const found: Condition[] = [];
  const add = (code: Condition['code'], subject = '', values: Condition['values'] = {}) => {
    found.push({ code, subject, values });
  };
  const days = (ms: number) => Math.floor(ms / dayMs);
  const { recording, backup, certificates, pages } = upkeep;
  // A full disk has its own words and its own call.
  if (recording.because !== null && recording.because !== 'disk') {
    add('not-recording', '', { why: recording.because });
  }
  const endsMs = upkeep.disk.endsMs;
  if (endsMs !== null && disk.used < disk.call && endsMs - nowMs < upkeepLimits.diskD * dayMs) {
    add('disk-ends', '', { days: Math.max(0, days(endsMs - nowMs)) });
  }
  if (!isDemo) {
    const unsavedD = days(nowMs - (backup.madeMs ?? beganMs));
    if (unsavedD >= upkeepLimits.backupD) add('backup-old', '', { days: unsavedD });
    const untriedD = days(nowMs - (backup.triedMs ?? beganMs));
    if (untriedD >= upkeepLimits.triedD) add('restore-untried', '', { days: untriedD });
  }
  for (const { what, endsMs } of certificates) {
    if (endsMs === null) add('certificate-unread', what, { what });
    else if (endsMs - nowMs < upkeepLimits.certificateD * dayMs) {
      add('certificate-ends', what, { what, days: Math.max(0, days(endsMs - nowMs)) });
    }
  }
  for (const { id, name } of pages?.unseen ?? []) add('wall-unseen', id, { wall: name });
  if (pages !== null && pages.version !== versionNow) {
    add('version-mixed', '', { pages: pages.version, collector: versionNow });
  }
  return found;
}
