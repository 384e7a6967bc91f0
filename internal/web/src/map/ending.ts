// Where tanks run out on the present pass, drawn over the map: a bar across the way
// with the tank's number.

import type { Tokens } from '../look'
import type { Position, State } from '../wire'
import { drawPlate } from './plate'

export interface Ending { at: Position; tank: number; headingDeg: number | null }

/** endingsOf are the places where tanks run out in a state. */
export function endingsOf(s: State): Ending[] {
  return s.tanks.flatMap((t) => (t.runs_out === null ? [] : [{ at: [t.runs_out.lon_deg, t.runs_out.lat_deg] as Position, tank: t.tank, headingDeg: s.machine.heading_deg }]))
}

type Point = { x: number; y: number }

/** drawEnding draws one; metre is a metre in pixels of the canvas. */
export function drawEnding(to: CanvasRenderingContext2D, tokens: Tokens, e: Ending, project: (p: Position) => Point, metre: number): void {
  const at = project(e.at)
  const half = Math.max(22, 6 * metre)
  if (e.headingDeg !== null) {
    // across the way: the way's direction on the screen from a point a little ahead
    const rad = (e.headingDeg * Math.PI) / 180
    const ahead = 10 / 111_320
    const b = project([e.at[0] + (ahead * Math.sin(rad)) / Math.cos((e.at[1] * Math.PI) / 180), e.at[1] + ahead * Math.cos(rad)])
    const long = Math.hypot(b.x - at.x, b.y - at.y)
    if (long > 0) {
      const [nx, ny] = [-(b.y - at.y) / long, (b.x - at.x) / long]
      for (const [width, ink] of [[10, tokens.machineEdge], [6, tokens.critical]] as const) {
        to.beginPath()
        to.moveTo(at.x - nx * half, at.y - ny * half)
        to.lineTo(at.x + nx * half, at.y + ny * half)
        to.lineWidth = width
        to.strokeStyle = ink
        to.stroke()
      }
    }
  }
  drawPlate(to, `tank ${e.tank} empty`, { x: at.x, y: at.y - 23 }, { plate: tokens.critical, rim: tokens.machineEdge, ink: tokens.onCritical })
}
