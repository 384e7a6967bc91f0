import { describe, expect, test } from 'vitest'
import { contrast, looks, type Look, type Tokens } from './look'

// WCAG 2.2, success criterion 1.4.3: text 4.5:1; 1.4.11: what tells things apart 3:1.
const text: [keyof Tokens, keyof Tokens][] = [
  ['text', 'page'], ['text', 'surface'], ['quiet', 'page'], ['quiet', 'surface'], ['onAction', 'action'], ['onGood', 'good'],
  ['onWarning', 'warning'], ['onCritical', 'critical'], ['onOld', 'old'], ['onOld', 'oldHatch'], ['onSkipLabel', 'skipLabel'],
  ['action', 'surface'], ['good', 'surface'], ['text', 'bare'],
]
const shapes: [keyof Tokens, keyof Tokens][] = [
  ['frame', 'page'], ['frame', 'surface'], ['focus', 'page'], ['focus', 'surface'], ['covered', 'bare'], ['skip', 'bare'],
  ['boundary', 'bare'], ['boundary', 'covered'], ['machine', 'bare'], ['machine', 'machineEdge'], ['sectionEdge', 'bare'], ['preview', 'bare'],
  ['machine', 'covered'], ['unknown', 'bare'], ['twice', 'bare'],
]

describe.each(['day', 'night'] as Look[])('by %s', (look) => {
  test.each(text)('text %s is read on %s', (ink, ground) => {
    expect(contrast(looks[look][ink], looks[look][ground])).toBeGreaterThanOrEqual(4.5)
  })
  test.each(shapes)('%s is told from %s', (ink, ground) => {
    expect(contrast(looks[look][ink], looks[look][ground])).toBeGreaterThanOrEqual(3)
  })
})

// WCAG 2.2, definition of contrast ratio: black on white 21:1. The grey #767676 on
// white is the lightest that reaches 4.5:1 (WCAG techniques; from memory).
test('contrast is that of WCAG', () => {
  expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 6)
  expect(contrast('#767676', '#ffffff')).toBeGreaterThanOrEqual(4.5)
  expect(contrast('#777777', '#ffffff')).toBeLessThan(4.5)
})
