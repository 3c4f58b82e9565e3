import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import type { FloorLoad } from '@setwell/shared-models/api/floor';
import type { LoadTrace } from '@setwell/shared-models/score/shape';
import { degrees, shownDifference } from '../degrees.ts';
import { say } from '../language.ts';
import {
  clockS,
  differenceUnit,
  measure,
  number,
  placeText,
  shownTemperature,
  unitText,
} from '../phrase.ts';
import type { Line } from './marks.tsx';

/** Rows of a table behind a picture, and depths of the section's. */
const tableRows = 24;
const tableDepths = 7;

/** So many indices of a list, evenly, first and last among them. */
function picked(length: number, most: number): number[] {
  const count = Math.min(length, most);
  if (count < 2) return length === 0 ? [] : [0];
  return Array.from({ length: count }, (_, i) => Math.round((i * (length - 1)) / (count - 1)));
}

interface Column {
  name: string;
  cell: (i: number) => string;
}

/** The same points as a picture, to read or to copy; every number's unit stands in its heading. */
function PictureTable({
  title,
  timesMs,
  columns,
}: {
  title: string;
  timesMs: number[];
  columns: Column[];
}) {
  const [isOpen, setOpen] = useState(false);
  const rows = isOpen ? picked(timesMs.length, tableRows) : [];
  return (
    <details class="picture-table" onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{title}</summary>
      <div class="table-wide" tabIndex={0} role="region" aria-label={title}>
        <table>
          <thead>
            <tr>
              <th>{say('picture.col.time')}</th>
              {columns.map(({ name }) => (
                <th key={name} class="right">
                  {name}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {rows.map((i): ComponentChildren => (
              <tr key={i}>
                <td>{clockS(timesMs[i] ?? 0)}</td>
                {columns.map(({ name, cell }) => (
                  <td key={name} class="right">
                    {cell(i)}
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </details>
  );
}

const temperatures = (lowC: number, highC: number, digits: number): string =>
  say('bar.range', {
    low: shownTemperature(lowC, digits),
    high: shownTemperature(highC, digits),
  });

export function HeatTable({ trace, line }: { trace: LoadTrace; line: Line | null }) {
  const faces = trace.measuredC.filter(({ zone }) => line === null || zone === line.zone);
  const columns: Column[] = faces.map(({ point, valuesC, lowC, highC }) => ({
    name: say('picture.col.measured', { point, degrees: degrees.value }),
    cell: (i) => {
      const c = valuesC[i] ?? null;
      if (c !== null) return shownTemperature(c, 1);
      const [low, high] = [lowC?.[i], highC?.[i]];
      if (low === undefined || high === undefined) return '–';
      return `(${temperatures(low, high, 0)})`;
    },
  }));
  const upper = faces.find(({ face }) => face === 'upper');
  const lower = faces.find(({ face }) => face === 'lower');
  if (upper !== undefined && lower !== undefined) {
    columns.push({
      name: say('picture.col.difference', { unit: differenceUnit() }),
      cell: (i) => {
        const above = upper.valuesC[i] ?? null;
        const below = lower.valuesC[i] ?? null;
        return above === null || below === null ? '–' : number(shownDifference(above - below), 1);
      },
    });
  }
  if (line !== null) {
    columns.push({
      name: say('picture.col.computed', { place: placeText(line, true), degrees: degrees.value }),
      cell: (i) => temperatures(line.lowC[i] ?? 0, line.highC[i] ?? 0, 1),
    });
  }
  return (
    <PictureTable title={say('picture.table.heat')} timesMs={trace.timesMs} columns={columns} />
  );
}

export function SectionTable({ trace }: { trace: LoadTrace }) {
  const { section, timesMs } = trace;
  if (section === null) return null;
  const columns = picked(section.depthsMm.length, tableDepths).map((d): Column => ({
    name: say('picture.col.depth', {
      mm: number(section.depthsMm[d] ?? 0, 1),
      degrees: degrees.value,
    }),
    cell: (i) => shownTemperature(section.tempC[i]?.[d] ?? 0, 1),
  }));
  return <PictureTable title={say('picture.table.section')} timesMs={timesMs} columns={columns} />;
}

export function GrowthTable({ trace, load }: { trace: LoadTrace; load: FloorLoad }) {
  const { cure, timesMs } = trace;
  const least = load.window?.least ?? 1;
  const unit = unitText(load.unit, true);
  const columns = (['low', 'nominal', 'high'] as const).map((name): Column => ({
    name: `${say(`picture.col.${name}`)}, ${unit}`,
    cell: (i) => measure(cure[name][i] ?? 0, least),
  }));
  return <PictureTable title={say('picture.table.growth')} timesMs={timesMs} columns={columns} />;
}
