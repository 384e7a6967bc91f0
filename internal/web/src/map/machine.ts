// The machine at its true place and size, and the labels of skips, drawn on a canvas
// over the map.

import type { Tokens } from '../look'
import { drawEnding, type Ending } from './ending'
import { drawPlate } from './plate'
import type { Pose } from './pose'
import type { Position } from '../wire'

export interface Label { at: Position; text: string }

export interface Overlay {
  tokens: Tokens
  pose: Pose | null
  /** nothing of it is fresh */
  old: boolean
  labels: readonly Label[]
  endings: readonly Ending[]
}

/** Of the symbol; the tractor's own measures are not known. Metres. */
const tractorM = { length: 5, width: 2.5 }
const barM = 1.2
/** What a label takes of the screen, CSS pixels. */
const labelRoom = { x: 92, y: 28 }

type Point = { x: number; y: number }

/** draw draws it all. project gives canvas points in CSS pixels, metre is a metre in them. */
export function draw(to: CanvasRenderingContext2D, o: Overlay, project: (p: Position) => Point, metre: number): void {
  const ratio = to.canvas.width / Math.max(1, to.canvas.clientWidth)
  to.setTransform(ratio, 0, 0, ratio, 0, 0)
  to.clearRect(0, 0, to.canvas.clientWidth, to.canvas.clientHeight)
  if (o.pose !== null) machine(to, o.tokens, o.pose, o.old, project, metre)
  if (!o.old) for (const e of o.endings) drawEnding(to, o.tokens, e, project, metre)
  const taken: Point[] = []
  for (const l of o.labels) {
    const at = project(l.at)
    // one that would cover another is left out: the larger skip comes first
    if (taken.some((p) => Math.abs(p.x - at.x) < labelRoom.x && Math.abs(p.y - at.y) < labelRoom.y)) continue
    taken.push(at)
    drawPlate(to, l.text, at, { plate: o.tokens.skipLabel, rim: o.tokens.onSkipLabel, ink: o.tokens.onSkipLabel })
  }
}

function machine(to: CanvasRenderingContext2D, tokens: Tokens, pose: Pose, old: boolean, project: (p: Position) => Point, metre: number): void {
  const ink = old ? tokens.onOld : tokens.machine
  const ends = pose.bar.map(project)
  const antenna = pose.antenna === null ? null : project(pose.antenna)
  const first = ends[0]
  const last = ends.at(-1)
  to.lineJoin = 'round'
  if (first !== undefined && last !== undefined) {
    if (antenna !== null) {
      edged(to, tokens, ink, 3, () => { to.moveTo(antenna.x, antenna.y); to.lineTo((first.x + last.x) / 2, (first.y + last.y) / 2) })
    }
    const thick = Math.max(6, barM * metre)
    for (let i = 0; i + 1 < ends.length; i++) {
      const [a, b] = [ends[i], ends[i + 1]]
      if (a !== undefined && b !== undefined) section(to, tokens, a, b, thick, pose.sections[i] ?? 'unknown', old)
    }
  }
  if (antenna !== null) tractor(to, tokens, antenna, heading(pose, project), metre, old)
}

/** heading is the direction ahead on the screen, radians clockwise from up; null where it is not known. */
function heading(pose: Pose, project: (p: Position) => Point): number | null {
  if (pose.antenna === null || pose.headingDeg === null) return null
  const [lon, lat] = pose.antenna
  const rad = (pose.headingDeg * Math.PI) / 180
  const ahead = 10 / 111_320 // ten metres in degrees of latitude
  const a = project(pose.antenna)
  const b = project([lon + (ahead * Math.sin(rad)) / Math.cos((lat * Math.PI) / 180), lat + ahead * Math.cos(rad)])
  return Math.atan2(b.x - a.x, a.y - b.y)
}

function edged(to: CanvasRenderingContext2D, tokens: Tokens, ink: string, width: number, path: () => void): void {
  to.beginPath()
  path()
  to.lineWidth = width + 3
  to.strokeStyle = tokens.machineEdge
  to.stroke()
  to.lineWidth = width
  to.strokeStyle = ink
  to.stroke()
}

function section(to: CanvasRenderingContext2D, tokens: Tokens, a: Point, b: Point, thick: number, state: string, old: boolean): void {
  const length = Math.hypot(b.x - a.x, b.y - a.y)
  if (length < 0.5) return
  to.save()
  to.translate(a.x, a.y)
  to.rotate(Math.atan2(b.y - a.y, b.x - a.x))
  const gap = Math.min(1, length / 8)
  const box = new Path2D()
  box.rect(gap, -thick / 2, length - 2 * gap, thick)
  to.fillStyle = tokens.machineEdge
  to.fill(box)
  if (old || state === 'unknown') {
    to.save()
    to.clip(box)
    to.strokeStyle = old ? tokens.onOld : tokens.sectionEdge
    to.lineWidth = 2
    to.beginPath()
    for (let x = -thick; x < length + thick; x += 7) {
      to.moveTo(x, thick / 2)
      to.lineTo(x + thick, -thick / 2)
    }
    to.stroke()
    to.restore()
  } else if (state === 'on') {
    to.fillStyle = tokens.sectionOn
    to.fill(box)
  }
  to.lineWidth = 2
  to.strokeStyle = old ? tokens.onOld : tokens.sectionEdge
  to.stroke(box)
  to.restore()
}

function tractor(to: CanvasRenderingContext2D, tokens: Tokens, at: Point, direction: number | null, metre: number, old: boolean): void {
  const scale = Math.max(metre, 30 / tractorM.length)
  const [l, w] = [tractorM.length * scale, tractorM.width * scale]
  to.save()
  to.translate(at.x, at.y)
  const shape = new Path2D()
  if (direction === null) {
    shape.arc(0, 0, l / 3, 0, 2 * Math.PI)
  } else {
    to.rotate(direction)
    shape.moveTo(0, -l * 0.6)
    shape.lineTo(w * 0.32, -l * 0.3)
    shape.lineTo(w * 0.32, 0)
    shape.lineTo(w * 0.5, 0)
    shape.lineTo(w * 0.5, l * 0.38)
    shape.lineTo(-w * 0.5, l * 0.38)
    shape.lineTo(-w * 0.5, 0)
    shape.lineTo(-w * 0.32, 0)
    shape.lineTo(-w * 0.32, -l * 0.3)
    shape.closePath()
  }
  to.lineWidth = 4
  to.strokeStyle = tokens.machineEdge
  to.stroke(shape)
  to.fillStyle = old ? tokens.old : tokens.machine
  to.fill(shape)
  to.lineWidth = 1.5
  to.strokeStyle = old ? tokens.onOld : tokens.machine
  to.stroke(shape)
  to.beginPath() // the antenna itself
  to.arc(0, 0, 3, 0, 2 * Math.PI)
  to.fillStyle = tokens.machineEdge
  to.fill()
  to.restore()
}
