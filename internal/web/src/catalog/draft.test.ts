import { describe, expect, it } from 'vitest'
import { draftOf, itemOf, number, plain } from './draft'
import { forms, inputsOf } from './forms'

const metre = { symbol: 'm', si: 1 }
const foot = { symbol: 'ft', si: 0.3048 } // m, exact: international foot

const drill = {
  id: 'a', revision: 3, archived: false, name: '12 m drill', mount: 'towed', antenna_to_hitch_m: 1.837, antenna_right_m: 0, hitch_to_axle_m: 6, hitch_to_bar_m: 7.2, bar_right_m: 0,
  sections_m: [3, 3.0005, 3, 3],
}

describe('a form', () => {
  it('keeps to the last digit what was not touched, in any unit', () => {
    for (const unit of [metre, foot]) {
      const draft = draftOf(forms.implements, drill, unit)
      expect(itemOf('implements', draft, drill, unit)).toEqual({ item: drill, faults: [] })
    }
  })
  it('reads feet as metres', () => {
    const draft = draftOf(forms.implements, drill, foot)
    draft.text['hitch_to_bar_m'] = '20'
    draft.sections = ['10', '10']
    const { item } = itemOf('implements', draft, drill, foot)
    expect(item['hitch_to_bar_m']).toBe(6.096)
    expect(item['sections_m']).toEqual([3.048, 3.048])
  })
  it('names what is no number, by the path that the daemon would name', () => {
    const draft = draftOf(forms.implements, drill, metre)
    draft.text['hitch_to_bar_m'] = '7.2 m'
    draft.sections[1] = ''
    expect(itemOf('implements', draft, drill, metre).faults.map((f) => f.member)).toEqual(['hitch_to_bar_m', 'sections_m[1]'])
  })
  it('says of a product only what its kind has', () => {
    const urea = { name: 'Urea 46', kind: 'granular', analysis: { n_pct: 46, p2o5_pct: 0, k2o_pct: 0, s_pct: 0 }, composition: { n_pct: 46 } }
    const draft = draftOf(forms.products, urea, metre)
    expect(itemOf('products', draft, urea, metre).item).toEqual({ name: 'Urea 46', kind: 'granular', analysis: { n_pct: 46, p2o5_pct: 0, k2o_pct: 0, s_pct: 0 } })
    draft.text['kind'] = 'seed'
    draft.text['thousand_kernel_g'] = '38,5'
    expect(itemOf('products', draft, urea, metre).item).toEqual({ name: 'Urea 46', kind: 'seed', thousand_kernel_g: 38.5 })
  })
  it('keeps zero where zero is said', () => {
    const p = { name: 'Rust guard', kind: 'crop protection', reentry_h: 0, pre_harvest_days: 0, max_applications: 2, substances: [{ name: 'examplazole', content: '250 g/l' }] }
    expect(itemOf('products', draftOf(forms.products, p, metre), p, metre).item).toEqual(p)
  })
  it('asks a rigid implement for no axle', () => {
    expect(inputsOf('implements', () => 'rigid').some((i) => i.member === 'hitch_to_axle_m')).toBe(false)
    expect(inputsOf('implements', () => 'towed').some((i) => i.member === 'hitch_to_axle_m')).toBe(true)
  })
})

describe('numbers', () => {
  it.each([['1.5', 1.5], ['1,5', 1.5], [' -2 ', -2], ['−2', -2], ['.5', 0.5], ['', null], ['1e3', null], ['1.2.3', null], ['3 m', null]])('%s', (s, want) => {
    expect(number(s)).toBe(want)
  })
  it.each([[1.5, '1.5'], [-0.0000001, '0'], [100, '100'], [0.1 + 0.2, '0.3']])('%d is shown as %s', (v, want) => {
    expect(plain(v)).toBe(want)
  })
})
