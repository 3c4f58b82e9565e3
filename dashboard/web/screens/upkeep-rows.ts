import type { Condition, HealthNow } from '@setwell/shared-models/api/health';
import { dayMs, upkeepLimits } from '@setwell/shared-models/api/upkeep';
import { collectorWords } from '../collector-words.ts';
import { say, sayAny } from '../language.ts';
import type { MessageKey } from '../messages/en.ts';
import { clockFrom, dayOfYear, duration, number } from '../phrase.ts';

export interface UpkeepRow {
  key: string;
  what: string;
  how: string[];
  /** What is wrong with it, in the words of its call. */
  wrong: Condition[];
  /** Not done yet, or not known yet: neither well nor a call. */
  isOpen: boolean;
}

/** Which conditions make which row false. */
const codesOf: Record<string, Condition['code'][]> = {
  recording: ['not-recording', 'disk-full', 'journal-damaged'],
  disk: ['disk', 'disk-full', 'disk-ends'],
  backup: ['backup-old'],
  restore: ['restore-untried'],
  clock: ['clock-unsynchronised', 'clock-off'],
  certificates: ['certificate-ends', 'certificate-unread'],
  walls: ['wall-unseen'],
  version: ['version-mixed'],
};

/** Everything that is looked after, row by row. */
export function upkeepRows(health: HealthNow, isDemo: boolean): UpkeepRow[] {
  const { clock, upkeep } = health;
  const { recording, disk, backup, certificates, pages } = upkeep;
  const row = (
    key: keyof typeof codesOf & string,
    how: string[],
    isUnknown: boolean,
  ): UpkeepRow => {
    const wrong = health.conditions.filter(({ code }) => codesOf[key]?.includes(code));
    const isOpen = isUnknown && wrong.length === 0;
    return { key, what: sayAny(`upkeep.row.${key}`, key), how, wrong, isOpen };
  };
  return [
    row('recording', recordingText(health), recording.newestMs === null),
    row('disk', diskText(health), !disk.isKnown),
    row('backup', [backupText(health, isDemo)], backup.madeMs === null && !isDemo),
    row('restore', [triedText(health, isDemo)], backup.triedMs === null && !isDemo),
    row('clock', clockText(health), clock.synchronised === null),
    row('certificates', certificatesText(health), certificates.length === 0),
    row('walls', wallsText(health), pages === null),
    row('version', versionText(health), pages === null),
  ];
}

export function doText({ code, values }: Condition): string {
  return sayAny(`call.collector.do.${code}`, code, collectorWords(values));
}

/** The one line that is read first. */
export function firstLine({ upkeep, nowMs }: HealthNow): string {
  const { recording, disk, backup } = upkeep;
  const at = (ms: number | null) => (ms === null ? say('upkeep.never') : clockFrom(ms, nowMs));
  const { newestMs, heard, points, because } = recording;
  return say('upkeep.line', {
    recording: say(because === null ? 'upkeep.recording' : 'upkeep.notRecording'),
    ago: newestMs === null ? '–' : agoText(nowMs - newestMs),
    heard,
    points,
    disk: !disk.isKnown
      ? say('upkeep.notKnown')
      : disk.endsMs === null
        ? say('upkeep.long')
        : say('upkeep.until', { day: dayOfYear(disk.endsMs) }),
    backup: at(backup.madeMs),
    tried: at(backup.triedMs),
  });
}

function agoText(ms: number): string {
  if (ms < 60_000) return `${number(Math.max(0, ms) / 1000, 1)} s`;
  return duration(Math.floor(ms / 60_000), false);
}

function recordingText({ upkeep, nowMs }: HealthNow): string[] {
  const { newestMs, heard, points, because } = upkeep.recording;
  const when = newestMs === null ? null : clockFrom(newestMs, nowMs);
  const spoken =
    when === null ? say('upkeep.heardNever') : say('upkeep.heard', { heard, points, when });
  return because === null ? [spoken] : [sayAny(`upkeep.why.${because}`, because), spoken];
}

function diskText({ upkeep, disk }: HealthNow): string[] {
  const { endsMs, isKnown } = upkeep.disk;
  const used = say('upkeep.diskUsed', { percent: number(disk.used * 100, 0) });
  if (!isKnown) return [used, say('upkeep.diskUnknown')];
  return [
    used,
    endsMs === null ? say('upkeep.diskLong') : say('upkeep.diskUntil', { day: dayOfYear(endsMs) }),
  ];
}

function backupText({ upkeep, nowMs, beganMs }: HealthNow, isDemo: boolean): string {
  const { madeMs } = upkeep.backup;
  if (madeMs !== null) return say('upkeep.made', { when: clockFrom(madeMs, nowMs) });
  return isDemo
    ? say('upkeep.demo')
    : say('upkeep.madeNever', { day: dayOfYear(beganMs + upkeepLimits.backupD * dayMs) });
}

function triedText({ upkeep, nowMs, beganMs }: HealthNow, isDemo: boolean): string {
  const { triedMs } = upkeep.backup;
  if (triedMs !== null) return say('upkeep.tried', { when: clockFrom(triedMs, nowMs) });
  return isDemo
    ? say('upkeep.demo')
    : say('upkeep.triedNever', { day: dayOfYear(beganMs + upkeepLimits.triedD * dayMs) });
}

function clockText({ clock, conditions }: HealthNow): string[] {
  const { synchronised } = clock;
  const follows: MessageKey =
    synchronised === null
      ? 'health.clockUnknown'
      : synchronised
        ? 'health.clockFollows'
        : 'health.clockAlone';
  const off = conditions.find(({ code }) => code === 'clock-off')?.values['seconds'];
  return off === undefined ? [say(follows)] : [say(follows), say('upkeep.clockOff', { s: off })];
}

function certificatesText({ upkeep }: HealthNow): string[] {
  if (upkeep.certificates.length === 0) return [say('upkeep.certificateNone')];
  return upkeep.certificates.map(({ what, endsMs }) => {
    const named = { what: say(`upkeep.certificate.${what}`) };
    return endsMs === null
      ? say('upkeep.certificateUnread', named)
      : say('upkeep.certificate', { ...named, day: dayOfYear(endsMs) });
  });
}

function wallsText({ upkeep: { pages } }: HealthNow): string[] {
  if (pages === null) return [say('upkeep.pagesSilent')];
  if (pages.walls === 0) return [say('upkeep.wallsNone')];
  if (pages.unseen.length === 0) return [say('upkeep.walls', { n: pages.walls })];
  return pages.unseen.map(({ name, minutes }) =>
    say('upkeep.wallUnseen', { wall: name, time: duration(minutes, false) }),
  );
}

function versionText({ upkeep, nowMs }: HealthNow): string[] {
  const [now] = upkeep.versions;
  const { pages } = upkeep;
  const running =
    now === undefined
      ? []
      : [
          say('upkeep.running', {
            version: versionName(now),
            when: clockFrom(now.sinceMs, nowMs),
          }),
        ];
  const isOther = pages !== null && now !== undefined && pages.version !== now.version;
  return isOther ? [...running, say('upkeep.pagesVersion', { version: pages.version })] : running;
}

/** 0.1.0 (f0f3c9a) */
export function versionName({ version, commit }: { version: string; commit: string | null }) {
  return commit === null ? version : `${version} (${commit.slice(0, 7)})`;
}
