import { describe, expect, test } from 'vitest'
import { keepPieces, noGround, redrawn, stale, tileBox, tiledUpTo, told, worked, type Ground, type TileID } from './ground'
import type { Position, WorkEvent } from './wire'

/** A piece 1 m wide at a longitude. */
const piece = (lon: number) => ({
  operation: 1,
  corners: [[lon, 53.3], [lon + 1e-5, 53.3], [lon + 1e-5, 53.30001], [lon, 53.30001]] as Position[],
  tanks: [],
})
const work = (first: number, ...lons: number[]): WorkEvent => ({ first, last: first + lons.length - 1, pieces: lons.map(piece) })

/** The tile of zoom 18 at a place. */
function at(lon: number, lat: number, z = 18): TileID {
  const n = 2 ** z
  return { z, x: Math.floor(((lon + 180) / 360) * n), y: Math.floor(((1 - Math.asinh(Math.tan((lat * Math.PI) / 180)) / Math.PI) / 2) * n) }
}

describe('pieces', () => {
  test('are kept until tiles carry them', () => {
    let g = told(noGround, { revision: 1, work: 10 }, 1)
    expect(g.last).toBe(10)
    g = worked(g, work(11, -0.1, -0.1001))
    g = worked(g, work(13, -0.1002))
    expect(g.pieces.map((p) => p.number)).toEqual([11, 12, 13])
    g = told(g, { revision: 2, work: 12 }, 1)
    expect(g.pieces, 'a new revision alone drops nothing').toHaveLength(3)
    expect(tiledUpTo(g, 12).pieces.map((p) => p.number)).toEqual([13])
    expect(tiledUpTo(g, 10)).toBe(g)
  })

  test('told twice are there once', () => {
    let g = worked(told(noGround, { revision: 1, work: 0 }, 1), work(1, -0.1, -0.1001))
    g = worked(g, work(2, -0.1001, -0.1002))
    expect(g.pieces.map((p) => p.number)).toEqual([1, 2, 3])
  })

  test('go where something was missed, and all tiles with them', () => {
    const g = worked(told(noGround, { revision: 4, work: 5 }, 1), work(6, -0.1))
    const after = redrawn(g, 20)
    expect(after.pieces).toEqual([])
    expect(after.last).toBe(20)
    expect(stale(at(10, 10), g.generation, after.changes)).toBe(true)
  })

  test('a hole in the numbers makes all tiles stale', () => {
    const g = worked(told(noGround, { revision: 1, work: 0 }, 1), work(1, -0.1))
    const after = worked(g, work(5, -0.1))
    expect(stale(at(10, 10), g.generation, after.changes)).toBe(true)
  })

  test('are bounded', () => {
    let g: Ground = told(noGround, { revision: 1, work: 0 }, 1)
    const many = work(1, ...Array.from({ length: keepPieces + 1 }, () => -0.1))
    g = worked(g, many)
    expect(g.pieces).toHaveLength(keepPieces / 2)
    expect(g.pieces.at(-1)?.number).toBe(keepPieces + 1)
  })
})

describe('tiles', () => {
  const here = at(-0.1, 53.3)
  const far = at(-0.11, 53.3)

  test('near the pieces are stale, others are not', () => {
    let g = worked(told(noGround, { revision: 1, work: 0 }, 1), work(1, -0.1))
    const asked = g.generation
    g = told(g, { revision: 2, work: 1 }, 1)
    expect(stale(here, asked, g.changes)).toBe(true)
    expect(stale(far, asked, g.changes)).toBe(false)
    expect(stale(here, g.generation, g.changes)).toBe(false)
  })

  test('within 60 m of the pieces are stale', () => {
    let g = worked(told(noGround, { revision: 1, work: 0 }, 1), work(1, -0.1))
    const asked = g.generation
    g = told(g, { revision: 2, work: 1 }, 1)
    // 55 m to the north; a degree of latitude is 111 km
    expect(stale(at(-0.1, 53.3005, 22), asked, g.changes)).toBe(true)
    expect(stale(at(-0.1, 53.3015, 22), asked, g.changes)).toBe(false)
  })

  test.each([
    ['a revision without new work', { revision: 2, work: 0 }, 1],
    ['a revision with pieces that never arrived', { revision: 2, work: 7 }, 1],
    ['a revision that went back', { revision: 0, work: 1 }, 1],
    ['another operation', { revision: 1, work: 0 }, 2],
  ])('are all stale after %s', (_, tiles, operation) => {
    const g = worked(told(noGround, { revision: 1, work: 0 }, 1), work(1, -0.1))
    expect(stale(far, g.generation, told(g, tiles, operation).changes)).toBe(true)
  })

  test('many changes are remembered as one everywhere, none is forgotten', () => {
    let g = told(noGround, { revision: 1, work: 0 }, 1)
    const asked = g.generation
    for (let n = 1; n <= 500; n++) {
      g = worked(g, work(n, -0.1))
      g = told(g, { revision: 1 + n, work: n }, 1)
    }
    expect(g.changes.length).toBeLessThan(100)
    expect(stale(far, asked, g.changes)).toBe(true)
    expect(stale(far, g.generation - 3, g.changes)).toBe(false)
    expect(stale(here, g.generation - 1, g.changes)).toBe(true)
  })

  // Web Mercator's square world: 85.0511 degrees, OGC Two Dimensional Tile Matrix Set 2.0, annex D.1.
  test('lie where the tile scheme has them', () => {
    const world = tileBox({ z: 0, x: 0, y: 0 }, 0)
    expect(world.west).toBe(-180)
    expect(world.east).toBe(180)
    expect(world.north).toBeCloseTo(85.0511287798, 9)
    expect(world.south).toBeCloseTo(-85.0511287798, 9)
  })
})
