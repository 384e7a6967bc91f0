// Recorded work on a map: the outlines of the ground that was covered.

import type { Feature } from 'geojson'
import { useEffect, useRef, useState } from 'preact/hooks'
import { looks } from '../look'
import { outlines, type Outlines } from '../map/outlines'
import { useLook } from '../settings'
import { past, type Ref, type Work } from './calls'

/** So many operations are drawn by their ground, the latest first; others by their box. */
const mostDrawn = 40

const boxOf = ({ bounds: [w, s, e, n], session, operation }: { bounds: [number, number, number, number]; session: string; operation: number }): Feature => ({
  type: 'Feature', properties: { kind: 'bounds', session, operation }, geometry: { type: 'Polygon', coordinates: [[[w, s], [e, s], [e, n], [w, n], [w, s]]] },
})

const bounded = (w: Work): { bounds: [number, number, number, number]; session: string; operation: number } | null =>
  w.bounds === null || w.bounds.length < 4 ? null : { bounds: w.bounds as unknown as [number, number, number, number], session: w.session, operation: w.operation }

export function PastMap({ of, picked, onPick, small = false }: { of: readonly Work[]; picked: Ref | null; onPick: (of: Ref) => void; small?: boolean }) {
  const look = useLook()
  const at = useRef<HTMLDivElement>(null)
  const map = useRef<Outlines | null>(null)
  const pick = useRef(onPick)
  pick.current = onPick
  const [failed, setFailed] = useState<string | null>(null)
  // the ground of an operation changes with corrections: its area is part of the key
  const key = of.map((w) => `${w.session} ${w.operation} ${w.area.gross_m2}`).join('\n')
  useEffect(() => {
    if (at.current === null) return
    map.current = outlines(at.current, looks[look], { picked: (session, operation) => pick.current({ session, operation }), failed: setFailed })
    return () => { map.current?.close(); map.current = null }
  }, [])
  useEffect(() => map.current?.wear(looks[look]), [look])
  useEffect(() => { map.current?.select(picked?.session ?? '', picked?.operation ?? 0) }, [picked?.session, picked?.operation])
  useEffect(() => {
    let gone = false
    const boxes = of.flatMap((w) => bounded(w) ?? [])
    const first = boxes[0]
    if (first !== undefined) {
      // those of the neighbourhood of the latest one come into sight
      const near = boxes.filter((b) => Math.abs(b.bounds[0] - first.bounds[0]) < 0.3 && Math.abs(b.bounds[1] - first.bounds[1]) < 0.3).map((b) => b.bounds)
      map.current?.frame([Math.min(...near.map((b) => b[0])), Math.min(...near.map((b) => b[1])), Math.max(...near.map((b) => b[2])), Math.max(...near.map((b) => b[3]))])
    }
    const features = new Map<string, Feature[]>(boxes.map((b) => [`${b.session} ${b.operation}`, [boxOf(b)]]))
    const draw = () => map.current?.show([...features.values()].reverse().flat())
    draw()
    void (async () => {
      for (const b of boxes.slice(0, mostDrawn)) {
        const answer = await past.ground(b)
        if (gone) return
        if (!answer.ok) continue
        // a joined one is drawn as a whole, and found by its first part
        features.set(`${b.session} ${b.operation}`, answer.value.features.map((f) => ({ ...f, properties: { ...f.properties, session: b.session, operation: b.operation } })))
        draw()
      }
    })()
    return () => { gone = true }
  }, [key])
  return (
    <div class={small ? 'past-map small' : 'past-map'} data-test="past-map">
      <div ref={at} class="past-map-canvas" />
      {failed === null ? null : <p class="fault">This device cannot draw the map ({failed}). The list has the same operations.</p>}
    </div>
  )
}
