// Images that the map needs, made on a canvas: hatches and signs. Nothing is fetched.

import type { Tokens } from '../look'
import { letterY, otherSign, signs, type Sign } from '../signs'

/** Images are drawn this many times as large as they are shown, for fine screens. */
export const imageScale = 2

function canvas(width: number, height: number): CanvasRenderingContext2D {
  const c = document.createElement('canvas')
  c.width = width * imageScale
  c.height = height * imageScale
  const to = c.getContext('2d', { willReadFrequently: true })
  if (to === null) throw new Error('this browser cannot draw on a canvas')
  to.scale(imageScale, imageScale)
  return to
}

const pixels = (c: CanvasRenderingContext2D) => c.getImageData(0, 0, c.canvas.width, c.canvas.height)

/** The causes of overlap that are told apart. */
export const causes = ['headland', 'between_passes', 'sections'] as const
export type Cause = (typeof causes)[number]

/** hatch is the pattern of a cause: dots, stripes or a grid, each stroke dark and light so that it is seen on any ground. */
export function hatch(cause: Cause, tokens: Tokens): ImageData {
  const size = 16
  const to = canvas(size, size)
  const twice = (stroke: () => void) => {
    to.strokeStyle = to.fillStyle = tokens.machineEdge
    to.lineWidth = 4
    stroke()
    to.strokeStyle = to.fillStyle = tokens.machine
    to.lineWidth = 2
    stroke()
  }
  const line = (x1: number, y1: number, x2: number, y2: number) => {
    to.beginPath()
    to.moveTo(x1, y1)
    to.lineTo(x2, y2)
    to.stroke()
  }
  switch (cause) {
    case 'headland':
      twice(() => {
        for (const [x, y] of [[4, 4], [12, 12]] as const) {
          to.beginPath()
          to.arc(x, y, to.lineWidth === 4 ? 3 : 2, 0, 2 * Math.PI)
          to.fill()
        }
      })
      break
    case 'between_passes':
      twice(() => { for (const d of [-size, 0, size]) line(d - 2, size + 2, d + size + 2, -2) })
      break
    case 'sections':
      twice(() => { line(8, -2, 8, size + 2); line(-2, 8, size + 2, 8) })
  }
  return pixels(to)
}

/** signImage is a mark's sign. */
export function signImage(sign: Sign, tokens: Tokens): ImageData {
  const size = 40
  const to = canvas(size, size)
  to.translate(3, 3)
  to.scale(34 / 24, 34 / 24)
  const shape = new Path2D(sign.path)
  to.lineJoin = 'round'
  to.lineWidth = 4
  to.strokeStyle = tokens.machineEdge
  to.stroke(shape)
  to.fillStyle = tokens.surface
  to.fill(shape)
  to.lineWidth = 2
  to.strokeStyle = tokens.text
  to.stroke(shape)
  to.fillStyle = tokens.text
  to.font = `700 ${sign.letters.length > 1 ? 8 : 10.5}px system-ui, sans-serif`
  to.textAlign = 'center'
  to.textBaseline = 'middle'
  to.fillText(sign.letters, 12, letterY[sign.kind] ?? 12.5)
  return pixels(to)
}

export const signName = (kind: string) => `sign ${kind}`
export const hatchName = (cause: Cause) => `hatch ${cause}`

/** images are all of them by name. */
export function images(tokens: Tokens): [string, ImageData][] {
  return [
    ...causes.map((c): [string, ImageData] => [hatchName(c), hatch(c, tokens)]),
    ...[...signs, otherSign].map((s): [string, ImageData] => [signName(s.kind), signImage(s, tokens)]),
  ]
}
