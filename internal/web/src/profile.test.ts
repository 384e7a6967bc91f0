import { expect, test } from 'vitest'
import { noColumn, noDraft, profileOf } from './profile'

test('what is left empty is not stated', () => {
  expect(profileOf(noDraft)).toEqual({ kind: 'keyvalue' })
  expect(profileOf({ ...noDraft, units: { ...noDraft.units, rate: ' kg/ha ' } }).units).toEqual({ rate: ' kg/ha ' })
})

test('columns by number, by name and with their tank', () => {
  const got = profileOf({
    ...noDraft, kind: 'delimited', separator: ' ', header: true, checksum: 'xor8',
    columns: [
      { ...noColumn, column: '3', field: 'sections', format: 'hex', first: 'right', tank: '1' },
      { ...noColumn, column: 'Rate', field: 'rate', tank: '2', unit: 'gal/ac', scale: '0,1' },
      { ...noColumn, column: '5', field: 'level', tank: 'id', offset: '-1' },
      { ...noColumn, column: ' ' },
    ],
  })
  expect(got).toEqual({
    kind: 'delimited', separator: 'space', header: true, checksum: 'xor8',
    columns: [
      { column: 3, field: 'sections', format: 'hex', first: 'right' },
      { column: 'Rate', field: 'rate', tank: 2, unit: 'gal/ac', scale: 0.1 },
      { column: 5, field: 'level', tank_from: 'id', offset: -1 },
    ],
  })
})

test('a number that is none goes as typed', () => {
  expect(profileOf({ ...noDraft, kind: 'pattern', pattern: '^x$', columns: [{ ...noColumn, column: 'a', scale: 'ten' }] }).columns).toEqual([{ column: 'a', field: 'rate', tank: 1, scale: 'ten' }])
})
