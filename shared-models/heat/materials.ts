import type { SolidLayer } from '../plant/recipe-schema.ts';
import { woodThermal, type Thermal } from './wood.ts';

/** A material of a lay-up: what it does to heat, and whether glue holds it. */
export interface Material extends Thermal {
  /** Platen metal, caul, pad, film: no glue line at it. */
  tool: boolean;
}

/** Rows of a building material's table: conductivity over density. */
interface Board {
  heatCapacityJPerKgK: number;
  rows: readonly (readonly [densityKgPerM3: number, conductivityWPerMK: number])[];
}

/** @source DIN EN 12524:2000, table 1, wood-based panels */
const BOARDS: Record<string, Board> = {
  plywood: {
    heatCapacityJPerKgK: 1600,
    rows: [
      [300, 0.09],
      [500, 0.13],
      [700, 0.17],
      [1000, 0.24],
    ],
  },
  particleboard: {
    heatCapacityJPerKgK: 1700,
    rows: [
      [300, 0.1],
      [600, 0.14],
      [900, 0.18],
    ],
  },
  fibreboard: {
    heatCapacityJPerKgK: 1700,
    rows: [
      [250, 0.07],
      [400, 0.1],
      [600, 0.14],
      [800, 0.18],
    ],
  },
};

/** @source EN ISO 10456:2007, table 3; typed from memory: a tool whose own data are known gives them */
const TOOLS: Record<string, Thermal> = {
  steel: { conductivityWPerMK: 50, densityKgPerM3: 7800, heatCapacityJPerKgK: 450 },
  'stainless-steel': { conductivityWPerMK: 17, densityKgPerM3: 7900, heatCapacityJPerKgK: 500 },
  aluminium: { conductivityWPerMK: 160, densityKgPerM3: 2800, heatCapacityJPerKgK: 880 },
  copper: { conductivityWPerMK: 380, densityKgPerM3: 8900, heatCapacityJPerKgK: 380 },
  brass: { conductivityWPerMK: 120, densityKgPerM3: 8400, heatCapacityJPerKgK: 380 },
  silicone: { conductivityWPerMK: 0.35, densityKgPerM3: 1200, heatCapacityJPerKgK: 1000 },
  rubber: { conductivityWPerMK: 0.13, densityKgPerM3: 910, heatCapacityJPerKgK: 1100 },
};

/** No wood and no plastic conducts so well: an unnamed layer above it is a tool [W/(m·K)]. */
const TOOL_FROM_WPerMK = 2;

/** Moisture of wood where the recipe states none [%]; common practice, no source. */
const USUAL_MOISTURE_PCT = 8;

/** What platens are made of; a tool's own data, where they are known, are given in numbers. */
export const platenMetals = ['steel', 'stainless-steel', 'aluminium', 'copper', 'brass'] as const;

/** Properties of a platen's metal by its name. */
export function metalThermal(name: (typeof platenMetals)[number]): Thermal {
  const { conductivityWPerMK, densityKgPerM3, heatCapacityJPerKgK } = TOOLS[name];
  return { conductivityWPerMK, densityKgPerM3, heatCapacityJPerKgK };
}

/** Names a layer may use as `material` without giving its density; any name may with it. */
export const knownMaterials: readonly string[] = [...Object.keys(BOARDS), ...Object.keys(TOOLS)];

/**
 * Properties of a layer, explicit or from what it is made of.
 *
 * @returns null where nothing is known of the material and no density is given
 */
export function materialOf(layer: SolidLayer): Material | null {
  const known = ownMaterial(layer);
  return known === null || layer.tool === undefined ? known : { ...known, tool: layer.tool };
}

function ownMaterial(layer: SolidLayer): Material | null {
  if (!('material' in layer)) {
    const { conductivityWPerMK, densityKgPerM3, heatCapacityJPerKgK } = layer;
    const tool = conductivityWPerMK >= TOOL_FROM_WPerMK;
    return { conductivityWPerMK, densityKgPerM3, heatCapacityJPerKgK, tool };
  }
  const { material, densityKgPerM3 } = layer;
  // A material is any text, `constructor` too.
  const tool = Object.hasOwn(TOOLS, material) ? TOOLS[material] : undefined;
  if (tool !== undefined) {
    return { ...tool, densityKgPerM3: densityKgPerM3 ?? tool.densityKgPerM3, tool: true };
  }
  const board = Object.hasOwn(BOARDS, material) ? BOARDS[material] : undefined;
  if (board !== undefined) return { ...boardThermal(board, densityKgPerM3 ?? null), tool: false };
  const wood = woodThermal(
    material,
    layer.moisturePct ?? USUAL_MOISTURE_PCT,
    densityKgPerM3 ?? null,
  );
  return wood === null ? null : { ...wood, tool: false };
}

/** Linear between the table's rows, its end values beyond them; without a density, the middle row's. */
function boardThermal({ rows, heatCapacityJPerKgK }: Board, given: number | null): Thermal {
  const densityKgPerM3 = given ?? rows[Math.floor(rows.length / 2)][0];
  let conductivityWPerMK = rows[0][1];
  for (let i = 1; i < rows.length; i += 1) {
    const [fromKgPerM3, fromWPerMK] = rows[i - 1];
    const [toKgPerM3, toWPerMK] = rows[i];
    const share = (densityKgPerM3 - fromKgPerM3) / (toKgPerM3 - fromKgPerM3);
    if (share > 0) conductivityWPerMK = fromWPerMK + Math.min(share, 1) * (toWPerMK - fromWPerMK);
  }
  return { conductivityWPerMK, densityKgPerM3, heatCapacityJPerKgK };
}
