// A machine from above, to scale, with the distances that are entered. Metres; x to the
// right, y ahead; the antenna is the origin.

export interface Point { x: number; y: number }

/** A distance: a line from one point to another, for the member that it is. */
export interface Distance { member: string; from: Point; to: Point; value: number }

export interface View {
  antenna: Point
  hitch: Point | null
  linkage: Point | null
  axle: Point | null
  /** corners of the tractor's outline and of its wheels, for the eye alone */
  tractor: Box
  wheels: Box[]
  /** the frame from the hitch to the bar */
  beam: [Point, Point] | null
  sections: { from: Point; to: Point; width: number }[]
  distances: Distance[]
  /** y of the middle line's ends */
  middle: [Point, Point]
}

export interface Box { x: number; y: number; w: number; h: number } // x, y: left and front

export interface Measures {
  antenna_to_hitch_m: number
  antenna_right_m: number
  antenna_to_linkage_m: number | null // of a tractor
  implement: null | { towed: boolean; hitch_to_axle_m: number; hitch_to_bar_m: number; bar_right_m: number; sections_m: readonly number[] }
}

/** view puts a machine together. */
export function view(m: Measures): View {
  const cx = -m.antenna_right_m // the middle line
  const hitch = { x: cx, y: -m.antenna_to_hitch_m }
  // The tractor itself is no measure: some 4.6 m long, its rear axle 1 m ahead of the hitch.
  const rear = hitch.y + 1
  const tractor = { x: cx - 0.5, y: rear + 3.6, w: 1, h: 4.1 }
  const wheels = [
    { x: cx - 1.25, y: rear + 0.85, w: 0.5, h: 1.7 }, { x: cx + 0.75, y: rear + 0.85, w: 0.5, h: 1.7 },
    { x: cx - 1.1, y: rear + 3.2, w: 0.4, h: 1.2 }, { x: cx + 0.7, y: rear + 3.2, w: 0.4, h: 1.2 },
  ]
  const out: View = { antenna: { x: 0, y: 0 }, hitch, linkage: null, axle: null, tractor, wheels, beam: null, sections: [], distances: [], middle: [{ x: cx, y: tractor.y }, hitch] }
  const add = (member: string, from: Point, to: Point, value: number) => { out.distances.push({ member, from, to, value }) }
  add('antenna_to_hitch_m', { x: cx, y: 0 }, hitch, m.antenna_to_hitch_m)
  add('antenna_right_m', { x: cx, y: 0 }, { x: 0, y: 0 }, m.antenna_right_m)
  if (m.antenna_to_linkage_m !== null) {
    out.linkage = { x: cx, y: -m.antenna_to_linkage_m }
    add('antenna_to_linkage_m', { x: cx, y: 0 }, out.linkage, m.antenna_to_linkage_m)
  }
  const im = m.implement
  if (im === null) return out
  const bar = hitch.y - im.hitch_to_bar_m
  const middle = cx + im.bar_right_m
  if (im.towed) {
    out.axle = { x: cx, y: hitch.y - im.hitch_to_axle_m }
    add('hitch_to_axle_m', hitch, out.axle, im.hitch_to_axle_m)
  }
  add('hitch_to_bar_m', hitch, { x: cx, y: bar }, im.hitch_to_bar_m)
  add('bar_right_m', { x: cx, y: bar }, { x: middle, y: bar }, im.bar_right_m)
  out.beam = [hitch, { x: cx, y: bar }]
  out.middle = [{ x: cx, y: tractor.y }, { x: cx, y: Math.min(bar, out.axle?.y ?? bar) }]
  let x = middle - im.sections_m.reduce((sum, w) => sum + w, 0) / 2
  im.sections_m.forEach((width, k) => {
    out.sections.push({ from: { x, y: bar }, to: { x: x + width, y: bar }, width })
    add(`sections_m[${k}]`, { x, y: bar }, { x: x + width, y: bar }, width)
    x += width
  })
  return out
}

/** frame is what is shown while a member is entered: the whole machine, or without the ends of a wide bar where a distance along the middle is looked at. */
export function frame(v: View, member: string | null): Box {
  const points: Point[] = [v.antenna, ...v.middle, { x: v.tractor.x - 0.9, y: v.tractor.y }, { x: v.tractor.x + v.tractor.w + 0.9, y: v.tractor.y }]
  if (v.axle !== null) points.push(v.axle)
  if (v.linkage !== null) points.push(v.linkage)
  for (const d of v.distances) if (!d.member.startsWith('sections_m')) points.push(d.from, d.to)
  if (member === null || member.startsWith('sections_m')) for (const s of v.sections) points.push(s.from, s.to)
  const xs = points.map((p) => p.x), ys = points.map((p) => p.y)
  const [left, right, back, front] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)]
  const margin = 0.08 * Math.max(right - left, front - back) + 0.6
  return { x: left - margin, y: front + margin, w: right - left + 2 * margin, h: front - back + 2 * margin }
}
