const formats = new Map<string, Intl.DateTimeFormat>();

/** A moment in a time zone with its offset, to the second: `2026-03-02T07:00:00+01:00`. */
export function localTime(ms: number, timeZone: string): string {
  const parts = new Map(
    formatOf(timeZone)
      .formatToParts(ms)
      .map(({ type, value }) => [type, value]),
  );
  const of = (type: Intl.DateTimeFormatPartTypes) => parts.get(type) ?? '';
  const offset = of('timeZoneName').replace('GMT', '') || '+00:00';
  return `${of('year')}-${of('month')}-${of('day')}T${of('hour')}:${of('minute')}:${of('second')}${offset}`;
}

function formatOf(timeZone: string): Intl.DateTimeFormat {
  const known = formats.get(timeZone);
  if (known) return known;
  const format = new Intl.DateTimeFormat('en-GB', {
    timeZone,
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
    hour: '2-digit',
    minute: '2-digit',
    second: '2-digit',
    hourCycle: 'h23',
    timeZoneName: 'longOffset',
  });
  formats.set(timeZone, format);
  return format;
}
