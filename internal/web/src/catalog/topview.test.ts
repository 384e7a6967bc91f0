import { describe, expect, it } from 'vitest'
import { frame, view } from './topview'

const drill = { antenna_to_hitch_m: 1.8, antenna_right_m: 0.2, antenna_to_linkage_m: null, implement: { towed: true, hitch_to_axle_m: 6, hitch_to_bar_m: 7.2, bar_right_m: 0.5, sections_m: [3, 2, 3] } }

describe('a machine from above', () => {
  const v = view(drill)
  it('draws every distance as long as it is', () => {
    expect(v.distances.map((d) => d.member)).toEqual(['antenna_to_hitch_m', 'antenna_right_m', 'hitch_to_axle_m', 'hitch_to_bar_m', 'bar_right_m', 'sections_m[0]', 'sections_m[1]', 'sections_m[2]'])
    for (const d of v.distances) expect(Math.hypot(d.to.x - d.from.x, d.to.y - d.from.y), d.member).toBeCloseTo(d.value, 9)
  })
  it('puts the bar where the engine has it', () => {
    // 1.8 + 7.2 behind the antenna; the middle line 0.2 left of it, the bar 0.5 right of that
    expect(v.sections.map((s) => s.from.y)).toEqual([-9, -9, -9])
    expect(v.sections[0]?.from.x).toBeCloseTo(-0.2 + 0.5 - 4, 9)
    expect(v.sections[2]?.to.x).toBeCloseTo(-0.2 + 0.5 + 4, 9)
  })
  it('has no axle where it is rigid', () => {
    const rigid = view({ ...drill, implement: { ...drill.implement, towed: false } })
    expect(rigid.axle).toBeNull()
    expect(rigid.distances.some((d) => d.member === 'hitch_to_axle_m')).toBe(false)
  })
  it('shows the whole bar, or comes closer for a distance along the middle', () => {
    const wide = view({ ...drill, implement: { ...drill.implement, sections_m: Array.from({ length: 36 }, () => 1) } })
    expect(frame(wide, null).w).toBeGreaterThan(36)
    expect(frame(wide, 'sections_m[3]').w).toBeGreaterThan(36)
    expect(frame(wide, 'hitch_to_axle_m').w).toBeLessThan(8)
  })
  it('goes ahead for a hitch in front', () => {
    expect(view({ ...drill, antenna_to_hitch_m: -2, implement: { ...drill.implement, hitch_to_bar_m: -1 } }).sections[0]?.from.y).toBe(3)
  })
})
