// A small map of what was worked: outlines of operations, of which one can be touched.

import type { Feature } from 'geojson'
import { Map as MapLibre, setWorkerCount, setWorkerUrl, type GeoJSONSource } from 'maplibre-gl'
import workerUrl from 'maplibre-gl/dist/maplibre-gl-worker.mjs?url'
import type { Tokens } from '../look'

export interface Outlines {
  /** features of kinds covered, overlap and skip with session and operation; outlines of what is not read yet have the kind bounds */
  show(features: readonly Feature[]): void
  /** brings a box of west, south, east, north into sight */
  frame(box: readonly [number, number, number, number]): void
  select(session: string, operation: number): void
  wear(tokens: Tokens): void
  close(): void
}

const source = 'work'

/** outlines draws on a container; null, with a word to failed, where this device cannot. */
export function outlines(container: HTMLElement, tokens: Tokens, w: { picked(session: string, operation: number): void; failed(text: string): void }): Outlines | null {
  setWorkerUrl(new URL(workerUrl, location.href).href)
  setWorkerCount(1)
  let map: MapLibre
  let loaded = false
  let features: readonly Feature[] = []
  let box: readonly [number, number, number, number] | null = null
  let picked: [string, number] = ['', 0]
  let worn = tokens
  try {
    map = new MapLibre({
      container, center: [0, 20], zoom: 1, maxZoom: 20, attributionControl: false, dragRotate: false, pitchWithRotate: false, touchPitch: false, maxPitch: 0, fadeDuration: 0, renderWorldCopies: false,
      style: { version: 8, sources: { [source]: { type: 'geojson', data: { type: 'FeatureCollection', features: [] } } }, layers: [
        { id: 'bare', type: 'background' },
        { id: 'bounds', type: 'line', source, filter: ['==', ['get', 'kind'], 'bounds'], paint: { 'line-width': 2, 'line-dasharray': [2, 2] } },
        { id: 'covered', type: 'fill', source, filter: ['==', ['get', 'kind'], 'covered'], paint: { 'fill-opacity': 0.85 } },
        { id: 'overlap', type: 'fill', source, filter: ['==', ['get', 'kind'], 'overlap'] },
        { id: 'skip', type: 'line', source, filter: ['==', ['get', 'kind'], 'skip'], paint: { 'line-width': 2 } },
        { id: 'edge', type: 'line', source, filter: ['==', ['get', 'kind'], 'covered'], paint: { 'line-width': 1.5 } },
        { id: 'picked', type: 'line', source, filter: ['==', ['get', 'session'], ''], paint: { 'line-width': 5 } },
      ] },
    })
  } catch (e) {
    w.failed(e instanceof Error ? e.message : String(e))
    return null
  }
  map.touchZoomRotate.disableRotation()
  map.keyboard.disableRotation()
  map.getCanvas().setAttribute('aria-label', 'Map of recorded work. Arrow keys move it, plus and minus zoom; the list beside it opens an operation.')

  const dress = () => {
    if (!loaded) return
    map.setPaintProperty('bare', 'background-color', worn.bare)
    map.setPaintProperty('bounds', 'line-color', worn.quiet)
    map.setPaintProperty('covered', 'fill-color', worn.covered)
    map.setPaintProperty('overlap', 'fill-color', worn.twice)
    map.setPaintProperty('skip', 'line-color', worn.skip)
    map.setPaintProperty('edge', 'line-color', worn.text)
    map.setPaintProperty('picked', 'line-color', worn.sectionOn)
  }
  const fill = () => {
    if (loaded) void map.getSource<GeoJSONSource>(source)?.setData({ type: 'FeatureCollection', features: [...features] })
  }
  const look = () => {
    if (box !== null) map.fitBounds([box[0], box[1], box[2], box[3]], { padding: 30, duration: 0, maxZoom: 18 })
  }
  const mark = () => {
    if (loaded) map.setFilter('picked', ['all', ['==', ['get', 'session'], picked[0]], ['==', ['get', 'operation'], picked[1]], ['in', ['get', 'kind'], ['literal', ['covered', 'bounds']]]])
  }
  map.on('style.load', () => { loaded = true; dress(); fill(); mark(); look() })
  map.on('idle', () => { container.dataset['drawn'] = String(features.length) })
  map.on('click', (e) => {
    const hit = map.queryRenderedFeatures([[e.point.x - 8, e.point.y - 8], [e.point.x + 8, e.point.y + 8]], { layers: ['covered', 'bounds', 'overlap'] })[0]
    const { session, operation } = (hit?.properties ?? {}) as { session?: string; operation?: number }
    if (session !== undefined && operation !== undefined) w.picked(session, operation)
  })
  const resized = new ResizeObserver(() => { map.resize(); look() })
  resized.observe(container)
  return {
    show(f) { features = f; fill() },
    frame(b) { box = b; look() },
    select(session, operation) { picked = [session, operation]; mark() },
    wear(t) { worn = t; dress() },
    close() { resized.disconnect(); map.remove() },
  }
}
