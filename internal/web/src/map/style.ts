// The map's style: sources, layers and how they are painted.

import type { DataDrivenPropertyValueSpecification, ExpressionSpecification, LayerSpecification, SourceSpecification, StyleSpecification } from 'maplibre-gl'
import { productColour, ratioStops, type Colouring } from '../colour'
import { causes, hatchName, signName } from './images'
import { otherSign, signs } from '../signs'

/** The layers of tiles that the daemon has, each a source of the same name. */
export const tileLayers = ['swaths', 'covered', 'overlap', 'skips', 'marks', 'boundary'] as const
export type TileLayer = (typeof tileLayers)[number]

/** Tiles of this zoom are enlarged beyond it: 4 cm of ground to a step of their grid. */
export const tilesMaxZoom = 18

/** Ids of what is not simply a tile layer. */
export const ids = {
  bare: 'bare', swaths: 'swaths', covered: 'covered', coveredEdge: 'covered-edge', twice: 'twice', overlap: 'overlap', skipCasing: 'skip-casing', skips: 'skips',
  boundaryCasing: 'boundary-casing', boundary: 'boundary', preview: 'preview', previewFill: 'preview-fill', previewCasing: 'preview-casing', previewLine: 'preview-line', marks: 'marks', live: 'live',
} as const

/** groundLayer is the layer of tiles that shows worked ground. */
export const groundLayer = (c: Colouring): TileLayer => (c.mode === 'times' ? 'covered' : 'swaths')

function swathColour(c: Colouring): DataDrivenPropertyValueSpecification<string> {
  const of = (letter: string) => `${letter}${c.tank}`
  if (c.mode === 'product') {
    const pairs = c.products.flatMap((name, i) => [name, productColour(i)])
    if (pairs.length === 0) return c.tokens.unknown
    return ['match', ['coalesce', ['get', of('p')], ''], ...pairs, c.tokens.unknown] as unknown as DataDrivenPropertyValueSpecification<string>
  }
  const stops = ratioStops.flatMap(([at, colour]) => [at, colour])
  return [
    'case', ['has', of('q')], ['interpolate', ['linear'], ['get', of('q')], ...stops], c.tokens.unknown,
  ] as unknown as DataDrivenPropertyValueSpecification<string>
}

/** paints is what a change of colouring changes: layer, property, value. */
export function paints(c: Colouring): [layer: string, property: string, value: unknown][] {
  const t = c.tokens
  return [
    [ids.bare, 'background-color', t.bare],
    [ids.covered, 'fill-color', t.covered],
    [ids.swaths, 'fill-color', swathColour(c)],
    [ids.coveredEdge, 'line-color', t.quiet],
    [ids.twice, 'fill-color', t.twice],
    [ids.skipCasing, 'line-color', t.machineEdge],
    [ids.skips, 'line-color', t.skip],
    [ids.boundaryCasing, 'line-color', t.machineEdge],
    [ids.boundary, 'line-color', t.boundary],
    [ids.previewFill, 'fill-color', t.preview],
    [ids.previewCasing, 'line-color', t.machineEdge],
    [ids.previewLine, 'line-color', t.preview],
  ]
}

/** shown tells which layers are there in a colouring. */
export function shown(c: Colouring): [layer: string, visible: boolean][] {
  const times = c.mode === 'times'
  return [[ids.covered, times], [ids.swaths, !times], [ids.coveredEdge, !times], [ids.twice, times]]
}

/** byZoom is a width from the whole field in sight to the bar in sight. */
const byZoom = (far: number, near: number): ExpressionSpecification => ['interpolate', ['linear'], ['zoom'], 15.5, far, 18.5, near]

export function style(origin: string): StyleSpecification {
  const sources: Record<string, SourceSpecification> = {
    [ids.preview]: { type: 'geojson', data: { type: 'FeatureCollection', features: [] } },
  }
  for (const name of tileLayers) {
    sources[name] = { type: 'vector', tiles: [`${origin}/tiles/${name}/{z}/{x}/{y}.mvt`], minzoom: 0, maxzoom: tilesMaxZoom }
  }
  const of = (source: TileLayer) => ({ source, 'source-layer': source })
  const layers: LayerSpecification[] = [
    { id: ids.bare, type: 'background' },
    { id: ids.covered, type: 'fill', ...of('covered'), paint: { 'fill-antialias': false } },
    { id: ids.swaths, type: 'fill', ...of('swaths'), paint: { 'fill-antialias': false } },
    // in other colours, ground that was worked is told from bare ground by its edge, whatever its colour
    { id: ids.coveredEdge, type: 'line', ...of('covered'), paint: { 'line-width': 1.5 } },
    // a shade from opaque: opaque fills are drawn before all else, and live pieces would cover them
    { id: ids.twice, type: 'fill', ...of('overlap'), paint: { 'fill-antialias': false, 'fill-opacity': 0.99 } },
    {
      id: ids.overlap, type: 'fill', ...of('overlap'),
      paint: {
        'fill-pattern': ['match', ['get', 'cause'], ...causes.flatMap((c) => [c, hatchName(c)]), hatchName('between_passes')] as unknown as string,
      },
    },
    { id: ids.boundaryCasing, type: 'line', ...of('boundary'), paint: { 'line-width': 5 }, layout: { 'line-join': 'round' } },
    {
      id: ids.boundary, type: 'line', ...of('boundary'), layout: { 'line-join': 'round' },
      paint: { 'line-width': ['case', ['==', ['get', 'current'], true], 3, 1.5] },
    },
    { id: ids.skipCasing, type: 'line', ...of('skips'), paint: { 'line-width': byZoom(2.5, 5) } },
    { id: ids.skips, type: 'line', ...of('skips'), paint: { 'line-width': byZoom(1.2, 3), 'line-dasharray': ['case', ['==', ['get', 'state'], 'provisional'], ['literal', [2, 1.5]], ['literal', [1, 0]]] } },
    { id: ids.previewFill, type: 'fill', source: ids.preview, filter: ['==', ['geometry-type'], 'Polygon'], paint: { 'fill-opacity': 0.25 } },
    { id: ids.previewCasing, type: 'line', source: ids.preview, paint: { 'line-width': 8 } },
    { id: ids.previewLine, type: 'line', source: ids.preview, paint: { 'line-width': 4, 'line-dasharray': [2, 1] } },
    {
      id: ids.marks, type: 'symbol', ...of('marks'),
      layout: {
        'icon-image': ['match', ['get', 'kind'], ...signs.flatMap((s) => [s.kind, signName(s.kind)]), signName(otherSign.kind)] as unknown as string,
        'icon-allow-overlap': true, 'icon-ignore-placement': true, 'icon-rotation-alignment': 'viewport',
      },
      // what is done stays where it was, and stands back
      paint: { 'icon-opacity': ['case', ['==', ['get', 'done'], true], 0.35, 1] },
    },
  ]
  return { version: 8, sources, layers, transition: { duration: 0, delay: 0 } }
}
