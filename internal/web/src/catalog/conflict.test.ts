import { describe, expect, it } from 'vitest'
import { differences, merged, same } from './conflict'

const base = { id: 'a', revision: 1, archived: false, name: 'Mill Piece', note: 'wet', boundary: { type: 'Polygon', coordinates: [[[0, 53]]] } }

describe('a conflict', () => {
  it('loses nothing where each changed another member', () => {
    const mine = { ...base, note: 'wet in the north' }
    const theirs = { ...base, revision: 2, name: 'Mill Piece East' }
    const list = differences(base, mine, theirs)
    expect(list.map((d) => [d.member, d.by])).toEqual([['name', 'them'], ['note', 'me']])
    expect(merged(theirs, list, {})).toEqual({ ...base, revision: 2, name: 'Mill Piece East', note: 'wet in the north' })
  })
  it('asks where both changed one, and takes what is chosen', () => {
    const mine = { ...base, note: 'mine' }
    const theirs = { ...base, revision: 4, note: 'theirs' }
    const list = differences(base, mine, theirs)
    expect(merged(theirs, list, {})).toBeUndefined()
    expect(merged(theirs, list, { note: 'mine' })?.['note']).toBe('mine')
    expect(merged(theirs, list, { note: 'theirs' })?.['note']).toBe('theirs')
    expect(merged(theirs, list, { note: 'mine' })?.revision).toBe(4)
  })
  it('asks nothing where both said the same', () => {
    expect(differences(base, { ...base, note: 'dry' }, { ...base, revision: 2, note: 'dry' })).toEqual([])
  })
  it('lets a member be taken away', () => {
    const mine: Record<string, unknown> = { ...base }
    delete mine['note']
    const theirs = { ...base, revision: 2, name: 'East' }
    const out = merged(theirs, differences(base, mine, theirs), {})
    expect(out).not.toHaveProperty('note')
    expect(out?.['name']).toBe('East')
  })
  it('takes what is left out and what is empty for the same', () => {
    expect(same(undefined, '')).toBe(true)
    expect(same({ a: 1, b: null }, { a: 1 })).toBe(true)
    expect(same(0, '')).toBe(false)
    expect(same([1, 2], [2, 1])).toBe(false)
  })
})
