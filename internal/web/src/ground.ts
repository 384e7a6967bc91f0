// Which ground is drawn from map tiles and which from live pieces, so that no stripe
// is missing and none is left from before.
//
// The daemon numbers the pieces of work. Its tiles carry all pieces up to some number;
// when that grows, so does their revision. Each growth is a Change here: a generation,
// and the box in which tiles differ from before. A tile that was asked for before a
// change that touches it is stale and is fetched again. Live pieces are dropped once
// no tile in view is stale.

import type { Position, WorkEvent, WorkPiece } from './wire'

/** Degrees. */
export interface Box { west: number; south: number; east: number; north: number }

export interface Piece extends WorkPiece { number: number }

/** Tiles asked for before this generation differ within the box; everywhere where it is null. */
export interface Change { generation: number; box: Box | null }

export interface Ground {
  /** drawn over the tiles, by number */
  pieces: readonly Piece[]
  /** number of the last piece that arrived; 0 before the first */
  last: number
  /** of the tiles, as told last; -1 before the first */
  revision: number
  /** the tiles carry the pieces up to here */
  tiled: number
  /** of the operation in hand; 0 for none */
  operation: number
  generation: number
  changes: readonly Change[]
}

export const noGround: Ground = { pieces: [], last: 0, revision: -1, tiled: 0, operation: 0, generation: 0, changes: [] }

/** How far from a piece tiles may change: overlaps and skips beside it. */
const marginM = 60
const keepChanges = 64
/** More live pieces than these are dropped, oldest first, for all tiles anew. */
export const keepPieces = 20_000

function changed(g: Ground, box: Box | null): Pick<Ground, 'generation' | 'changes'> {
  const generation = g.generation + 1
  const change = { generation, box }
  if (box === null) return { generation, changes: [change] }
  if (g.changes.length < keepChanges) return { generation, changes: [...g.changes, change] }
  // the older half counts as a change everywhere
  const older = g.changes[keepChanges / 2]
  return { generation, changes: [{ generation: older?.generation ?? generation, box: null }, ...g.changes.slice(keepChanges / 2 + 1), change] }
}

/** worked adds pieces that arrived. */
export function worked(g: Ground, event: WorkEvent): Ground {
  const fresh = event.pieces.map((p, i) => ({ ...p, number: event.first + i })).filter((p) => p.number > g.last)
  if (event.last <= g.last) return g
  const gap = g.last > 0 && event.first > g.last + 1
  let pieces = fresh.length === 0 ? g.pieces : [...g.pieces, ...fresh]
  const next = { ...g, pieces, last: event.last }
  if (pieces.length > keepPieces) {
    pieces = pieces.slice(pieces.length - keepPieces / 2)
    return { ...next, pieces, ...changed(g, null) }
  }
  return gap ? { ...next, ...changed(g, null) } : next
}

/** told takes what a state tells of the tiles. */
export function told(g: Ground, tiles: { revision: number; work: number }, operation: number): Ground {
  if (tiles.revision === g.revision && operation === g.operation) return { ...g, tiled: tiles.work }
  const next = { ...g, revision: tiles.revision, tiled: tiles.work, operation, last: Math.max(g.last, g.revision < 0 ? tiles.work : 0) }
  const between = g.pieces.filter((p) => p.number > g.tiled && p.number <= tiles.work)
  const known = tiles.revision > g.revision && operation === g.operation && between.length > 0 && between.length === tiles.work - g.tiled
  return { ...next, ...changed(g, known ? boxOf(between) : null) }
}

/** redrawn starts anew after number work: pieces were missed. */
export function redrawn(g: Ground, work: number): Ground {
  return { ...g, pieces: [], last: work, tiled: Math.min(g.tiled, work), ...changed(g, null) }
}

/** everywhere makes all tiles stale, as when marks changed. */
export function everywhere(g: Ground): Ground {
  return { ...g, ...changed(g, null) }
}

/** tiledUpTo drops the pieces that tiles in view are known to carry. */
export function tiledUpTo(g: Ground, work: number): Ground {
  const first = g.pieces[0]
  if (first === undefined || first.number > work) return g
  return { ...g, pieces: g.pieces.filter((p) => p.number > work) }
}

function boxOf(pieces: readonly Piece[]): Box {
  const box = { west: Infinity, south: Infinity, east: -Infinity, north: -Infinity }
  for (const p of pieces) for (const corner of p.corners) grow(box, corner)
  const north = marginM / 111_000
  const east = north / Math.max(0.01, Math.cos((box.north * Math.PI) / 180))
  return { west: box.west - east, south: box.south - north, east: box.east + east, north: box.north + north }
}

function grow(box: Box, [lon, lat]: Position): void {
  box.west = Math.min(box.west, lon)
  box.east = Math.max(box.east, lon)
  box.south = Math.min(box.south, lat)
  box.north = Math.max(box.north, lat)
}

export interface TileID { z: number; x: number; y: number }

/** tileBox is the ground of a tile in the web's usual scheme, with its buffer on all sides. */
export function tileBox({ z, x, y }: TileID, buffer = 1 / 16): Box {
  const n = 2 ** z
  const lon = (at: number) => (at / n) * 360 - 180
  const lat = (at: number) => (Math.atan(Math.sinh(Math.PI * (1 - (2 * at) / n))) * 180) / Math.PI
  return { west: lon(x - buffer), east: lon(x + 1 + buffer), north: lat(y - buffer), south: lat(y + 1 + buffer) }
}

const touch = (a: Box, b: Box) => a.west <= b.east && b.west <= a.east && a.south <= b.north && b.south <= a.north

/** stale tells whether a tile that was asked for in a generation has changed since. */
export function stale(tile: TileID, asked: number, changes: readonly Change[]): boolean {
  let box: Box | undefined
  for (const c of changes) {
    if (c.generation <= asked) continue
    if (c.box === null) return true
    box ??= tileBox(tile)
    if (touch(box, c.box)) return true
  }
  return false
}
