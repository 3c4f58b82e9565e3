import type { RecipeDetail } from '@setwell/shared-models/api/recipe';
import type { HeldRange, HeldRow, HeldWindow } from '@setwell/shared-models/cure/held-window';
import { judgedWindow } from '@setwell/shared-models/score/window';
import type { Recipe, WindowBounds } from '@setwell/shared-models/plant/recipe-schema';
import { say } from '../language.ts';
import { bandPath, Drawing, Foot, Grid, linePath, type Area } from '../heat-up/drawing.tsx';
import { gridC } from '../load/plot.ts';
import { bound, daysText, number, saidTemperature, unitText } from '../phrase.ts';

type Said = NonNullable<RecipeDetail['said']>;

const isDose = ({ law }: Recipe): boolean => 'form' in law && law.form === 'dose';

/** Three digits that count: 0.42, 6.9, 38, 412 min; from two days on as days. */
function heldTime(minutes: number | null): string {
  if (minutes === null) return say('recipe.held.never');
  const days = minutes / 1440;
  if (days >= 2) return `${number(days, days < 10 ? 1 : 0)} ${unitText('d')}`;
  return `${number(minutes, minutes < 1 ? 2 : minutes < 100 ? 1 : 0)} min`;
}

function rangeText(range: HeldRange | null): string {
  if (range === null) return '';
  const [low, high] = range;
  return high === null
    ? say('recipe.held.noEnd', { low: heldTime(low) })
    : say('range.words', { low: heldTime(low), high: heldTime(high) });
}

const atText = (at: number, recipe: Recipe): string =>
  isDose(recipe) ? `${number(at, 0)} mW/cm²` : saidTemperature(at);

/** From here on a picture counts in days [min]. */
const inDaysFrom = 1440;

/** Decades and their 2 and 5 between two times, each with its name. */
function ticksOf(leastMin: number, mostMin: number): { minutes: number; text: string }[] {
  const [unitMin, unit] = leastMin >= inDaysFrom ? [1440, unitText('d')] : [1, unitText('min')];
  const from = Math.floor(Math.log10(leastMin / unitMin));
  const to = Math.ceil(Math.log10(mostMin / unitMin));
  const decades = Array.from({ length: to - from + 1 }, (_, i) => 10 ** (from + i));
  const fine = to - from > 4 ? [1] : [1, 2, 5];
  return decades
    .flatMap((decade) => fine.map((step) => decade * step))
    .map((at) => ({ minutes: at * unitMin, text: `${bound(at)} ${unit}` }))
    .filter(({ minutes }) => minutes >= leastMin && minutes <= mostMin);
}

/** A word of the foot has so much room [px]. */
const footWordPx = 72;

/** The band between the least and the most, on a scale on which twice as long is always as far. */
function Band({ held, recipe, area }: { held: HeldWindow; recipe: Recipe; area: Area }) {
  const { tempsC, window } = held.map;
  const least = window?.least.minutes ?? [];
  const most = window?.most?.minutes ?? null;
  const all = [...least, ...(most ?? [])].filter((each) => each !== null && each > 0) as number[];
  const [low, high] = [Math.min(...all) / 1.3, Math.max(...all) * 1.3];
  const share = (minutes: number) => Math.log(minutes / low) / Math.log(high / low);
  const y = (minutes: number) => area.y(Math.min(1, Math.max(0, share(minutes))));
  const x = (i: number) => area.x(i / (tempsC.length - 1));
  const [fromAt = 0, toAt = 1] = [tempsC[0], tempsC[tempsC.length - 1]];
  const atX = (at: number) => area.x((at - fromAt) / (toAt - fromAt));
  const round = isDose(recipe) ? held.rows.map(({ at }) => at) : gridC(fromAt, toAt);
  const every = Math.ceil((round.length * footWordPx) / area.widthPx);
  const marks = round.filter((_, i) => i % every === 0);
  const whole = least.map((each) => each ?? high);
  const top = most?.map((each) => each ?? high) ?? whole.map(() => high);
  const middle = Math.floor(tempsC.length / 3);
  return (
    <>
      <path class="window" d={bandPath(whole, top, x, y)} />
      <Grid
        area={area}
        lines={ticksOf(low, high).map(({ minutes, text }) => ({ y: y(minutes), text }))}
      />
      <path class="edge" d={linePath(least, x, y)} />
      {most !== null && <path class="edge" d={linePath(most, x, y)} />}
      <text x={x(middle)} y={y(whole[middle] ?? low) + 24} text-anchor="end">
        {say('recipe.held.leastEnd')}
      </text>
      {most !== null && (
        <text x={x(middle)} y={y(top[middle] ?? high) - 10}>
          {say('recipe.held.mostEnd')}
        </text>
      )}
      <Foot area={area} words={marks.map((at) => ({ x: atX(at), text: atText(at, recipe) }))} />
    </>
  );
}

function HeldTable({ rows, recipe }: { rows: HeldRow[]; recipe: Recipe }) {
  const hasMost = rows.some(({ mostMin }) => mostMin !== null);
  const hasDoubt = rows.some(({ leastRangeMin }) => leastRangeMin !== null);
  const hasMostDoubt = rows.some(({ mostRangeMin }) => mostRangeMin !== null);
  const names = {
    least: say('recipe.held.col.least'),
    doubt: say('recipe.held.col.doubt'),
    most: say('recipe.held.col.most'),
  };
  return (
    <table class="stacking held">
      <thead>
        <tr>
          <th>{say('recipe.held.col.at')}</th>
          <th class="right">{names.least}</th>
          {hasDoubt && <th class="right">{names.doubt}</th>}
          {hasMost && <th class="right">{names.most}</th>}
          {hasMostDoubt && <th class="right">{names.doubt}</th>}
        </tr>
      </thead>
      <tbody>
        {rows.map(({ at, leastMin, leastRangeMin, mostMin, mostRangeMin }) => (
          <tr key={at}>
            <td>
              <b>{atText(at, recipe)}</b>
            </td>
            <td class="right" data-col={names.least}>
              {heldTime(leastMin)}
            </td>
            {hasDoubt && (
              <td class="right" data-col={names.doubt}>
                {rangeText(leastRangeMin)}
              </td>
            )}
            {hasMost && (
              <td class="right" data-col={names.most}>
                {heldTime(mostMin)}
              </td>
            )}
            {hasMostDoubt && (
              <td class="right" data-col={names.doubt}>
                {rangeText(mostRangeMin)}
              </td>
            )}
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** What the window says beside its least and most. */
function moreOf(recipe: Recipe, unit: Said['unit']): string[] {
  const unitLong = unitText(unit, true);
  const noMost = (reason: string | undefined): string =>
    reason === undefined
      ? say('recipe.window.noMostPlain')
      : say('recipe.window.noMost', { reason });
  if (recipe.kind === 'store') {
    const { calendarLeastD, mostNone } = recipe.window.rest;
    return [say('recipe.window.rest', { days: daysText(calendarLeastD) }), noMost(mostNone)];
  }
  const step: WindowBounds = recipe.kind === 'oven' ? recipe.window.step : recipe.window;
  const more: string[] = step.most === undefined ? [noMost(step.mostNone)] : [];
  if (step.noReturn !== undefined) {
    more.push(say('recipe.window.noReturn', { bound: bound(step.noReturn), unit: unitLong }));
  }
  if (recipe.kind === 'oven' && recipe.window.total !== undefined) {
    const { least, most } = recipe.window.total;
    const window =
      most === undefined
        ? say('recipe.atLeast', { bound: bound(least) })
        : say('range.words', { low: bound(least), high: bound(most) });
    more.push(say('recipe.window.total', { window, unit: unitLong }));
  }
  return more;
}

function sourcesOf(recipe: Recipe): string[] {
  const { window } = recipe;
  const all =
    'rest' in window
      ? [window.rest.source]
      : 'step' in window
        ? [window.step.source, window.total?.source]
        : [window.source];
  return [...new Set(all.filter((source) => source !== undefined))];
}

export const sourceText = (source: string | undefined): string =>
  source === undefined ? say('recipe.noSource') : say('recipe.source', { source });

/** How much, and what that is in minutes at each temperature: in words, as a picture, as a table. */
export function WindowPart({ said: { recipe, unit, held } }: { said: Said }) {
  const { window } = judgedWindow(recipe, unit);
  const values = { least: bound(window.least), unit: unitText(unit, true) };
  const sources = sourcesOf(recipe);
  const [first, last] = [held.rows[0], held.rows[held.rows.length - 1]];
  const isDrawn = held.map.window?.least.minutes.some((each) => each !== null && each > 0) === true;
  return (
    <section class="section">
      <h2>{say('recipe.window')}</h2>
      <p>
        <b>
          {window.most === null
            ? say('recipe.window.least', values)
            : say('recipe.window.both', { ...values, most: bound(window.most) })}
        </b>{' '}
        {moreOf(recipe, unit).join(' ')}
      </p>
      <p class="soft">
        {sources.length === 0 ? sourceText(undefined) : sources.map(sourceText).join(' · ')}
      </p>
      <h3>{say(isDose(recipe) ? 'recipe.held.light' : 'recipe.held')}</h3>
      <p class="soft">{say(isDose(recipe) ? 'recipe.held.light.what' : 'recipe.held.what')}</p>
      <div class="held-cols">
        {isDrawn && first !== undefined && last !== undefined && (
          <Drawing
            heightPx={300}
            leftPx={88}
            label={say(isDose(recipe) ? 'recipe.held.light.alt' : 'recipe.held.alt', {
              fromAt: atText(first.at, recipe),
              fromLeast: heldTime(first.leastMin),
              toAt: atText(last.at, recipe),
              toLeast: heldTime(last.leastMin),
            })}
          >
            {(area) => <Band held={held} recipe={recipe} area={area} />}
          </Drawing>
        )}
        <HeldTable rows={held.rows} recipe={recipe} />
      </div>
    </section>
  );
}
