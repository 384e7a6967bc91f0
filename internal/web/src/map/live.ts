// Live pieces of work, drawn straight onto the map's canvas: at once, without the
// detour through tiles in a worker. Colours are opaque, so that a piece that a tile
// carries too looks the same.

import { MercatorCoordinate, type CustomLayerInterface, type CustomRenderMethodInput, type Map as MapLibre } from 'maplibre-gl'
import { pieceColour, type Colouring } from '../colour'
import { rgb } from '../look'
import type { Piece } from '../ground'

const vertex = `#version 300 es
uniform mat4 u_matrix;
in vec2 a_at;
in vec3 a_colour;
out vec3 v_colour;
void main() {
  v_colour = a_colour;
  gl_Position = u_matrix * vec4(a_at, 0.0, 1.0);
}`
const fragment = `#version 300 es
precision mediump float;
in vec3 v_colour;
out vec4 colour;
void main() { colour = vec4(v_colour, 1.0); }`

const perVertex = 5 // floats: x, y, red, green, blue
const order = [0, 1, 2, 0, 2, 3] as const // of the corners, as two triangles

export interface Live extends CustomLayerInterface {
  set(pieces: readonly Piece[], colouring: Colouring): void
  /** pieces after this number are not drawn yet */
  limit(work: number): boolean
  /** how many are drawn */
  count(): number
}

export function live(id: string): Live {
  let map: MapLibre | null = null
  let gl: WebGL2RenderingContext | null = null
  let program: WebGLProgram | null = null
  let buffer: WebGLBuffer | null = null
  let array: WebGLVertexArrayObject | null = null
  let data = new Float32Array(0)
  let numbers: readonly number[] = []
  let origin = { x: 0, y: 0 }
  let drawn = 0
  let last = 0
  let sent = false

  const count = () => {
    let n = numbers.length
    while (n > 0 && (numbers[n - 1] ?? 0) > last) n--
    return n
  }
  return {
    id,
    type: 'custom',
    onAdd(to, context) {
      map = to
      gl = context
      sent = false
      const compile = (kind: number, source: string) => {
        const shader = context.createShader(kind)
        if (shader === null) return null
        context.shaderSource(shader, source)
        context.compileShader(shader)
        return shader
      }
      const [v, f] = [compile(context.VERTEX_SHADER, vertex), compile(context.FRAGMENT_SHADER, fragment)]
      program = context.createProgram()
      if (v === null || f === null) return
      context.attachShader(program, v)
      context.attachShader(program, f)
      context.linkProgram(program)
      buffer = context.createBuffer()
      array = context.createVertexArray()
      context.bindVertexArray(array)
      context.bindBuffer(context.ARRAY_BUFFER, buffer)
      for (const [name, size, at] of [['a_at', 2, 0], ['a_colour', 3, 2]] as const) {
        const place = context.getAttribLocation(program, name)
        context.enableVertexAttribArray(place)
        context.vertexAttribPointer(place, size, context.FLOAT, false, perVertex * 4, at * 4)
      }
      context.bindVertexArray(null)
    },
    onRemove() {
      gl?.deleteProgram(program)
      gl?.deleteBuffer(buffer)
      gl?.deleteVertexArray(array)
      gl = program = buffer = array = null
    },
    set(pieces, colouring) {
      const at = pieces[0]?.corners[0]
      if (at !== undefined) origin = MercatorCoordinate.fromLngLat({ lng: at[0], lat: at[1] })
      data = new Float32Array(pieces.length * order.length * perVertex)
      numbers = pieces.map((p) => p.number)
      let to = 0
      for (const piece of pieces) {
        const [r, g, b] = rgb(pieceColour(colouring, piece.tanks))
        const corners = piece.corners.map(([lng, lat]) => MercatorCoordinate.fromLngLat({ lng, lat }))
        for (const i of order) {
          const c = corners[i] ?? origin
          data.set([c.x - origin.x, c.y - origin.y, r, g, b], to)
          to += perVertex
        }
      }
      sent = false
      map?.triggerRepaint()
    },
    limit(work) {
      if (work === last) return false
      const before = count()
      last = work
      if (count() !== before) map?.triggerRepaint()
      return true
    },
    count: () => drawn,
    render(context: WebGLRenderingContext | WebGL2RenderingContext, { defaultProjectionData: { mainMatrix: m } }: CustomRenderMethodInput) {
      drawn = count()
      if (drawn === 0 || gl === null || program === null || context !== gl) return
      gl.bindVertexArray(array)
      gl.bindBuffer(gl.ARRAY_BUFFER, buffer)
      if (!sent) gl.bufferData(gl.ARRAY_BUFFER, data, gl.DYNAMIC_DRAW)
      sent = true
      gl.useProgram(program)
      // The matrix is from the world's square, 0 to 1. The shift to the origin is added in double precision: in single it would be metres.
      const moved = Float32Array.from(m as ArrayLike<number>)
      for (let row = 0; row < 4; row++) {
        const v = (i: number) => Number(m[i * 4 + row] ?? 0)
        moved[12 + row] = v(0) * origin.x + v(1) * origin.y + v(3)
      }
      gl.uniformMatrix4fv(gl.getUniformLocation(program, 'u_matrix'), false, moved)
      gl.disable(gl.DEPTH_TEST)
      gl.disable(gl.STENCIL_TEST)
      gl.disable(gl.CULL_FACE)
      gl.drawArrays(gl.TRIANGLES, 0, drawn * order.length)
      gl.bindVertexArray(null)
    },
  }
}
