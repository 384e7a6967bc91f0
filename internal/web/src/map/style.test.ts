import { validateStyleMin } from '@maplibre/maplibre-gl-style-spec'
import { expect, test } from 'vitest'
import type { Colouring, Mode } from '../colour'
import { looks } from '../look'
import { groundLayer, ids, paints, shown, style } from './style'

/** The style as it is once a colouring was put on. */
function coloured(c: Colouring) {
  const s = style('http://127.0.0.1:8080')
  for (const [id, property, value] of paints(c)) {
    const layer = s.layers.find((l) => l.id === id)
    if (layer === undefined) throw new Error(`no layer ${id}`)
    layer.paint = { ...layer.paint, [property]: value } as never
  }
  for (const [id, visible] of shown(c)) {
    const layer = s.layers.find((l) => l.id === id)
    if (layer === undefined) throw new Error(`no layer ${id}`)
    layer.layout = { ...layer.layout, visibility: visible ? 'visible' : 'none' } as never
  }
  return s
}

const colourings = (['times', 'rate', 'product'] as Mode[]).flatMap((mode) =>
  (['day', 'night'] as const).flatMap((look) =>
    [[], ['Spring oats'], ['Spring oats', 'Starter blend']].map((products): [string, Colouring] => [`${mode} by ${look}, ${products.length} products`, { mode, tank: 2, products, tokens: looks[look] }])))

// The MapLibre Style Specification's own checker.
test.each(colourings)('the style is valid: %s', (_, c) => {
  expect(validateStyleMin(coloured(c) as never).map((e) => e.message)).toEqual([])
})

test.each(colourings)('worked ground is shown from one layer of tiles: %s', (_, c) => {
  const visible = coloured(c).layers.filter((l) => l.layout?.visibility !== 'none').map((l) => l.id)
  expect(visible.filter((id) => id === ids.covered || id === ids.swaths)).toEqual([groundLayer(c)])
})

test('nothing is asked of another machine, and no font or sprite at all', () => {
  const s = style('http://127.0.0.1:8080')
  expect(s.glyphs).toBeUndefined()
  expect(s.sprite).toBeUndefined()
  const addresses = JSON.stringify(s).match(/https?:[^"]*/g) ?? []
  expect(addresses.length).toBeGreaterThan(0)
  for (const a of addresses) expect(a.startsWith('http://127.0.0.1:8080/tiles/')).toBe(true)
})
