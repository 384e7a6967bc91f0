// Where the machine is drawn between two states: the way from one to the next is
// gone through in the time that lay between them, so that it moves smoothly and never
// ahead of what is known.

import type { Position, State, SectionState } from '../wire'

export interface Pose {
  antenna: Position | null
  headingDeg: number | null
  bar: readonly Position[]
  sections: readonly SectionState[]
  /** the last piece of work that was known then */
  work: number
}

/** poseOf is the pose in a state. */
export function poseOf(s: State, work: number): Pose {
  const { lat_deg, lon_deg } = s.gnss
  const antenna = s.machine.antenna ?? (lat_deg === null || lon_deg === null ? null : ([lon_deg, lat_deg] as Position))
  return { antenna, headingDeg: s.machine.heading_deg, bar: s.machine.bar, sections: s.machine.sections, work }
}

/** A jump of more than this is not gone through, metres. */
const jumpM = 30
/** States further apart than this are not joined, ms. */
const longestMs = 1200
const shortestMs = 40

/** turn is an angle between two, the short way round, degrees. */
export function turn(from: number, to: number, at: number): number {
  const by = ((((to - from) % 360) + 540) % 360) - 180
  return (((from + by * at) % 360) + 360) % 360
}

const between = (a: Position, b: Position, at: number): Position => [a[0] + (b[0] - a[0]) * at, a[1] + (b[1] - a[1]) * at]

/** metres is how far apart two near places are; good to a percent. */
export function metres(a: Position, b: Position): number {
  const east = (b[0] - a[0]) * 111_320 * Math.cos((a[1] * Math.PI) / 180)
  return Math.hypot(east, (b[1] - a[1]) * 111_320)
}

export interface Motion {
  /** a pose arrived; now in ms of any clock */
  arrived(pose: Pose, now: number): void
  /** work up to this number belongs to the pose that arrived last: it follows its state */
  worked(last: number): void
  /** the pose to draw, null before the first; moving tells whether the next frame differs */
  at(now: number): { pose: Pose; moving: boolean } | null
}

/** motion smooths poses as they arrive; still draws each at once. */
export function motion(still: () => boolean): Motion {
  let from: Pose | null = null
  let to: Pose | null = null
  let start = 0
  let span = 0
  const at = (now: number): { pose: Pose; moving: boolean } | null => {
    if (to === null) return null
    const part = span <= 0 ? 1 : (now - start) / span
    if (from === null || part >= 1) return { pose: to, moving: false }
    return { pose: blend(from, to, Math.max(0, part)), moving: true }
  }
  return {
    arrived(pose, now) {
      const gap = now - start
      const drawn = at(now)?.pose ?? null
      const joined = drawn !== null && drawn.antenna !== null && pose.antenna !== null && gap <= longestMs && metres(drawn.antenna, pose.antenna) < jumpM
      from = joined && !still() ? drawn : null
      to = pose
      start = now
      span = from === null ? 0 : Math.max(shortestMs, gap)
    },
    worked(last) {
      if (to !== null && last > to.work) to = { ...to, work: last }
    },
    at,
  }
}

function blend(a: Pose, b: Pose, at: number): Pose {
  return {
    antenna: a.antenna !== null && b.antenna !== null ? between(a.antenna, b.antenna, at) : b.antenna,
    headingDeg: a.headingDeg !== null && b.headingDeg !== null ? turn(a.headingDeg, b.headingDeg, at) : b.headingDeg,
    bar: a.bar.length === b.bar.length ? b.bar.map((p, i) => between(a.bar[i] ?? p, p, at)) : b.bar,
    sections: a.sections,
    // pieces are numbered as they were worked: they follow the bar
    work: b.work < a.work ? b.work : a.work + Math.floor((b.work - a.work) * at),
  }
}
