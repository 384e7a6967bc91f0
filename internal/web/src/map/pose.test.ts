import { expect, test } from 'vitest'
import { metres, motion, turn, type Pose } from './pose'

const pose = (lon: number, work = 0): Pose => ({ antenna: [lon, 53.3], headingDeg: 90, bar: [[lon, 53.3], [lon, 53.3001]], sections: ['on'], work })

test.each([[350, 10, 0.5, 0], [10, 350, 0.5, 0], [0, 180, 0.25, 315], [90, 90, 0.7, 90], [359, 1, 1, 1]])('from %d to %d at %d is %d', (from, to, at, want) => {
  expect(turn(from, to, at)).toBeCloseTo(want, 9)
})

test('the way between two states is gone through in their time', () => {
  const m = motion(() => false)
  expect(m.at(0)).toBeNull()
  m.arrived(pose(-0.1, 4), 1000)
  expect(m.at(1000)).toEqual({ pose: pose(-0.1, 4), moving: false })
  m.arrived(pose(-0.1 + 2e-5, 6), 1100)
  expect(m.at(1150)?.pose.antenna?.[0]).toBeCloseTo(-0.1 + 1e-5, 12)
  expect(m.at(1150)?.pose.bar[1]?.[0]).toBeCloseTo(-0.1 + 1e-5, 12)
  expect(m.at(1150)?.pose.work, 'work follows the bar').toBe(5)
  expect(m.at(1149)?.pose.work).toBe(4)
  expect(m.at(1200)).toEqual({ pose: pose(-0.1 + 2e-5, 6), moving: false })
})

test('work that follows its state is drawn with it', () => {
  const m = motion(() => false)
  m.arrived(pose(-0.1, 4), 1000)
  m.worked(6)
  m.arrived(pose(-0.1 + 2e-5, 6), 1100)
  m.worked(9)
  expect(m.at(1150)?.pose.work).toBe(7)
  expect(m.at(1200)?.pose.work).toBe(9)
  m.arrived(pose(-0.1 + 3e-5, 2), 1200)
  expect(m.at(1210)?.pose.work, 'numbered anew').toBe(2)
})

test('a jump, a long pause and a person who wants no motion are not smoothed', () => {
  const far = motion(() => false)
  far.arrived(pose(-0.1), 0)
  far.arrived(pose(-0.11), 100)
  expect(far.at(100)?.pose.antenna?.[0]).toBe(-0.11)
  const late = motion(() => false)
  late.arrived(pose(-0.1), 0)
  late.arrived(pose(-0.10001), 5000)
  expect(late.at(5000)?.pose.antenna?.[0]).toBe(-0.10001)
  const still = motion(() => true)
  still.arrived(pose(-0.1), 0)
  still.arrived(pose(-0.10001), 100)
  expect(still.at(100)).toEqual({ pose: pose(-0.10001), moving: false })
})

// A minute of latitude is a nautical mile, 1852 m, within 0.6 % (from memory).
test('metres', () => {
  expect(metres([0, 53], [0, 53 + 1 / 60]) / 1852).toBeCloseTo(1, 2)
})
