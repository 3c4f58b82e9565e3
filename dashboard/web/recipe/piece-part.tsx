import type { RecipeCut, RecipeDetail } from '@setwell/shared-models/api/recipe';
import { materialOf } from '@setwell/shared-models/heat/materials';
import type {
  InitialC,
  Layer,
  Layup,
  Part,
  Recipe,
  Tolerance,
} from '@setwell/shared-models/plant/recipe-schema';
import { degrees, shownDegrees } from '../degrees.ts';
import { say } from '../language.ts';
import { bound, saidDifference, saidNumber, saidTemperature, zoneText } from '../phrase.ts';
import { useWidth } from '../width.ts';

/** A board is drawn so high [px]; wider than this many of its heights it says no more. */
const cutPx = 200;
const widestCut = 3;
/** Room for the numbers of the lines at the right, and how far they stand apart at least [px]. */
const numbersPx = 40;
const leastBetweenPx = 20;

const millimetres = (mm: number): string => bound(mm);

/** A cut through all layers as they lie, true in thickness, glue lines numbered from the top. */
function Cut({ cut: { layers, thicknessMm, linesMm } }: { cut: RecipeCut }) {
  const [ref, roomPx] = useWidth();
  const widthPx = Math.min(roomPx ?? 0, widestCut * cutPx);
  const rightPx = widthPx - numbersPx;
  const y = (mm: number): number => 10 + (mm / thicknessMm) * cutPx;
  let at = 0;
  const plies = layers.flatMap((layer) => {
    if ('contactWPerM2K' in layer) return [];
    return Array.from({ length: layer.count }, () => {
      const from = at;
      at += layer.thicknessMm;
      return { from, to: at };
    });
  });
  let namedPx = -Infinity;
  const named = linesMm.map((mm) => {
    const isFree = y(mm) - namedPx >= leastBetweenPx;
    if (isFree) namedPx = y(mm);
    return isFree;
  });
  const label = say('recipe.piece.alt', {
    mm: millimetres(thicknessMm),
    lines: linesMm.map(millimetres).join(', '),
  });
  return (
    <div ref={ref}>
      <svg class="recipe-cut" role="img" aria-label={label} width={widthPx} height={cutPx + 20}>
        {plies.map(({ from, to }, i) => (
          <rect
            key={i}
            class={i % 2 === 0 ? 'ply' : 'ply across'}
            x="1"
            y={y(from)}
            width={Math.max(0, rightPx - 1)}
            height={y(to) - y(from)}
          />
        ))}
        {linesMm.map((mm, i) => (
          <g key={mm}>
            <line class="glue-line" x1="1" x2={rightPx} y1={y(mm)} y2={y(mm)} />
            {named[i] === true && (
              <text x={rightPx + 8} y={y(mm) + 5}>
                {i + 1}
              </text>
            )}
          </g>
        ))}
      </svg>
    </div>
  );
}

function layerText(layer: Layer): string {
  if ('contactWPerM2K' in layer) {
    return say('recipe.piece.contact', { w: bound(layer.contactWPerM2K) });
  }
  if (!('material' in layer)) return layer.name ?? '–';
  const { material, moisturePct } = layer;
  return moisturePct === undefined
    ? say('recipe.piece.material', { material })
    : say('recipe.piece.moisture', { material, pct: bound(moisturePct) });
}

function LayerRow({ layer }: { layer: Layer }) {
  const solid = 'contactWPerM2K' in layer ? null : layer;
  const material = solid === null ? null : materialOf(solid);
  const figure = (value: number | undefined): string =>
    value === undefined ? '' : bound(Number(value.toPrecision(4)));
  const cells = [
    ['count', solid === null ? '' : String(solid.count)],
    ['thickness', solid === null ? '' : millimetres(solid.thicknessMm)],
    ['conductivity', figure(material?.conductivityWPerMK)],
    ['density', figure(material?.densityKgPerM3)],
    ['capacity', figure(material?.heatCapacityJPerKgK)],
  ] as const;
  return (
    <tr>
      <td>
        <b>{layerText(layer)}</b>
      </td>
      {cells.map(([col, text]) => (
        <td key={col} class="right" data-col={say(`recipe.piece.col.${col}`)}>
          {text}
        </td>
      ))}
    </tr>
  );
}

function CutPart({ cut }: { cut: RecipeCut }) {
  const { layers, thicknessMm, linesMm } = cut;
  const total = { mm: millimetres(thicknessMm), n: linesMm.length };
  return (
    <>
      <p>
        {say(
          `recipe.piece.total${linesMm.length > 1 ? '' : linesMm.length === 1 ? '.one' : 'NoLine'}`,
          total,
        )}
      </p>
      {layers.length + linesMm.length > 1 && <Cut cut={cut} />}
      <table class="stacking">
        <thead>
          <tr>
            <th>{say('recipe.piece.col.layer')}</th>
            {(['count', 'thickness', 'conductivity', 'density', 'capacity'] as const).map((col) => (
              <th key={col} class="right">
                {say(`recipe.piece.col.${col}`)}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {layers.map((layer, i) => (
            <LayerRow key={i} layer={layer} />
          ))}
        </tbody>
      </table>
    </>
  );
}

function startText(initialC: InitialC): string {
  if (typeof initialC === 'number') {
    return say('recipe.piece.start', { temperature: saidTemperature(initialC) });
  }
  if ('point' in initialC) return say('recipe.piece.startPoint', { point: initialC.point });
  const [low, high] = [initialC.least, initialC.most].map((c) => saidNumber(shownDegrees(c)));
  return say('recipe.piece.startRange', {
    low: low ?? '',
    high: high ?? '',
    degrees: degrees.value,
  });
}

function toleranceText(tolerance: Tolerance): string[] {
  const parts = Object.entries(tolerance).flatMap(([key, value]) => {
    if (value === undefined || value === 0) return [];
    const name = key as keyof Tolerance;
    const v = name === 'placeK' ? saidDifference(value) : bound(value);
    return [say(`recipe.tolerance.${name}`, { v })];
  });
  return parts.length === 0 ? [] : [say('recipe.piece.tolerance', { what: parts.join(', ± ') })];
}

function layupTexts(layup: Layup): string[] {
  const { contactWPerM2K, evaporation, initialC, tolerance } = layup;
  const texts: string[] = [];
  if (contactWPerM2K !== undefined) {
    texts.push(say('recipe.piece.faces', { w: bound(contactWPerM2K) }));
  }
  if (evaporation !== undefined) {
    const [from, to] = evaporation.share;
    const g = bound(1000 * evaporation.waterKgPerM2PerLine);
    texts.push(say('recipe.piece.wet', { g, from: bound(100 * from), to: bound(100 * to) }));
  }
  return [...texts, startText(initialC), ...toleranceText(tolerance ?? {})];
}

function partTexts(part: Part): string[] {
  const texts: string[] = [];
  if ('follows' in part) texts.push(say('recipe.piece.follows'));
  else if ('timeConstantMin' in part) {
    texts.push(say('recipe.piece.constant', { min: saidNumber(part.timeConstantMin) }));
  } else {
    texts.push(say('recipe.piece.convection', { w: bound(part.convectionWPerM2K) }));
    texts.push(say(`recipe.piece.face.${part.face}`));
  }
  if (part.initialC !== undefined) texts.push(startText(part.initialC));
  return [...texts, ...toleranceText(part.tolerance ?? {})];
}

interface OfPlace {
  place: string | null;
  texts: string[];
}

/** What is said of each place of the recipe, or of its only one. */
function textsOf(recipe: Recipe): OfPlace[] {
  if (recipe.kind === 'press') {
    const whole =
      recipe.layup === undefined ? [] : [{ place: null, texts: layupTexts(recipe.layup) }];
    const places = (recipe.places ?? []).map(({ id, layup }) => ({
      place: id,
      texts: layupTexts(layup),
    }));
    return [...whole, ...places];
  }
  const own = recipe.part === undefined ? [] : [{ place: null, texts: partTexts(recipe.part) }];
  const places = recipe.kind === 'oven' ? (recipe.places ?? []) : [];
  return [...own, ...places.map(({ id, part }) => ({ place: id, texts: partTexts(part) }))];
}

const isOf =
  ({ place }: OfPlace) =>
  (cut: RecipeCut): boolean =>
    cut.place === place;

function PlacePart({ of: { place, texts }, cut }: { of: OfPlace; cut: RecipeCut | undefined }) {
  const zones = cut?.zones ?? [];
  return (
    <div class="cut-part">
      {place !== null && (
        <h3>
          {say('recipe.piece.place', { place: zoneText(place) })}{' '}
          {zones.length > 0 && say('recipe.piece.zones', { zones: zones.map(zoneText).join(', ') })}
        </h3>
      )}
      <p>{texts.join(' ')}</p>
      {cut !== undefined && <CutPart cut={cut} />}
    </div>
  );
}

/** What the heat has to go through, as a cut and in figures; and what the recipe says of the times around it. */
export function PiecePart({ said: { recipe, cuts } }: { said: NonNullable<RecipeDetail['said']> }) {
  const said = textsOf(recipe);
  const times =
    recipe.kind === 'oven'
      ? ([
          ['flash-off', recipe.flashOffMin],
          ['recoat', recipe.recoatH],
        ] as const)
      : [];
  return (
    <section class="section">
      <h2>{say('recipe.piece')}</h2>
      {times.map(
        ([which, bounds]) =>
          bounds !== undefined && (
            <p key={which}>
              {say(`recipe.times.${which}`, {
                low: bound(bounds.least),
                high: bound(bounds.most),
              })}
            </p>
          ),
      )}
      {said.length === 0 && <p>{say('recipe.piece.surface')}</p>}
      {said.map((each) => (
        <PlacePart key={each.place ?? ''} of={each} cut={cuts.find(isOf(each))} />
      ))}
    </section>
  );
}
