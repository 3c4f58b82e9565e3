import { batch, signal, type Signal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { ReadingFrame } from '@setwell/shared-models/api/collector';

type LiveReading = ReadingFrame['points'][string];

const newest = new Map<string, Signal<LiveReading | null>>();
let screens = 0;
let source: EventSource | null = null;

function newestOf(point: string): Signal<LiveReading | null> {
  let known = newest.get(point);
  if (known === undefined) {
    known = signal(null);
    newest.set(point, known);
  }
  return known;
}

/** Values come as they are read while a screen that shows them is open. */
export function useLiveReadings(): void {
  useEffect(() => {
    screens += 1;
    source ??= opened();
    return () => {
      screens -= 1;
      if (screens > 0) return;
      source?.close();
      source = null;
    };
  }, []);
}

function opened(): EventSource {
  const readings = new EventSource('/api/v1/readings/stream');
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
