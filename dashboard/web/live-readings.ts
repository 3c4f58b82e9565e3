import { batch, signal, type Signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { ReadingFrame } from '@setwell/shared-models/api/collector';

type LiveReading = ReadingFrame['points'][string];

const newest = new Map<string, Signal<LiveReading | null>>();

function newestOf(point: string): Signal<LiveReading | null> {
  let known = newest.get(point);
  if (known === undefined) {
    known = signal(null);
    newest.set(point, known);
  }
  return known;
}

/** Values of a point, or of all, come as they are read while the screen that shows them is open. */
export function useLiveReadings(point?: string): void {
  useEffect(() => {
    const source = opened(point);
    return () => source.close();
  }, [point]);
}

function opened(point: string | undefined): EventSource {
  const asked = point === undefined ? '' : `?point=${encodeURIComponent(point)}`;
  const readings = new EventSource(`/api/v1/readings/stream${asked}`);
  readings.addEventListener('readings', (event: MessageEvent<string>) => {
    const { points } = JSON.parse(event.data) as ReadingFrame;
    batch(() => {
      for (const [point, reading] of Object.entries(points)) newestOf(point).value = reading;
    });
  });
  return readings;
}

/** What has come of a point after the reading that was asked for; null: nothing. */
export function readSince(point: string, askedMs: number | null): LiveReading | null {
  const live = newestOf(point).value;
  return live !== null && live.t > (askedMs ?? -Infinity) ? live : null;
}
