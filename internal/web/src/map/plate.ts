// Words on the map: a plate with a rim, so that they stand out from any ground.

/** drawPlate draws words around a point, CSS pixels. */
export function drawPlate(to: CanvasRenderingContext2D, text: string, at: { x: number; y: number }, colour: { plate: string; rim: string; ink: string }): void {
  to.font = '700 16px system-ui, sans-serif'
  to.textAlign = 'center'
  to.textBaseline = 'middle'
  const wide = to.measureText(text).width + 12
  to.fillStyle = colour.plate
  to.beginPath()
  to.roundRect(at.x - wide / 2, at.y - 12, wide, 24, 5)
  to.fill()
  to.lineWidth = 1.5
  to.strokeStyle = colour.rim
  to.stroke()
  to.fillStyle = colour.ink
  to.fillText(text, at.x, at.y + 1)
}
