// The map behind a small interface: the one file that drives MapLibre.

import { addProtocol, Map as MapLibre, setWorkerCount, setWorkerUrl, type GeoJSONSource } from 'maplibre-gl'
import workerUrl from 'maplibre-gl/dist/maplibre-gl-worker.mjs?url'
import { base } from '../base'
import type { Colouring } from '../colour'
import { stale, type Ground } from '../ground'
import { show, type System } from '../units'
import type { Outline, Position } from '../wire'
import { imageScale, images } from './images'
import { live } from './live'
import type { Ending } from './ending'
import { draw, type Label } from './machine'
import { motion, type Pose } from './pose'
import { metresPerPixel, scaleBar } from './scale'
import { loadTile, tileScheme } from './load'
import { groundLayer, ids, paints, shown, style, tileLayers, tilesMaxZoom, type TileLayer } from './style'

/** What is on the map by now, and where it looks. */
export interface Drawn { work: number; revision: number; pieces: number; camera: { at: Position; zoom: number; bearing: number } }

export interface Watcher {
  /** the person moved the map away from the machine */
  freed(): void
  /** the tiles in view carry all pieces up to this number and need no live ones */
  tiled(work: number): void
  /** what is drawn by now */
  drawn(what: Drawn): void
  scale(bar: { pixels: number; text: string }): void
  /** this screen cannot draw the map */
  failed(text: string): void
}

export interface View {
  colour(c: Colouring): void
  ground(g: Ground): void
  pose(p: Pose, old: boolean): void
  units(system: System): void
  /** the machine up, else north */
  machineUp(up: boolean): void
  follow(): void
  zoomBy(steps: number): void
  preview(outline: Outline | null): void
  /** where tanks run out on the present pass */
  endings(list: readonly Ending[]): void
  close(): void
}

const frameMs = 33
const retryMs = 2000
const mostLabels = 60
const labelsMs = 500
/** Skips smaller than this on the screen have no label: from afar it would hide more than it tells. */
const labelFromPx = 14
/** Where the machine stands on the screen with the machine up: this part of the height below the middle. */
const aheadPart = 0.18

export function view(container: HTMLElement, overlay: HTMLCanvasElement, start: { colouring: Colouring; system: System }, w: Watcher): View | null {
  setWorkerUrl(new URL(workerUrl, location.href).href)
  setWorkerCount(1)
  addProtocol(tileScheme, loadTile)
  let colouring = start.colouring
  let system = start.system
  let ground: Ground | null = null
  let old = true
  let following = true
  let up = true
  let placed = false
  let gesture = false
  let loaded = false
  let settled = false // tiles were drawn at least once
  let frame = 0
  let lastFrame = 0
  let lastRetry = Number.NEGATIVE_INFINITY
  let labels: Label[] = []
  // Pieces stay for one revision more than they must: tiles round their outlines, and
  // without that a hair of bare ground would show where tiles end and pieces begin.
  let seam = { before: 0, now: 0 }
  let lastLabels = Number.NEGATIVE_INFINITY
  let preview: Outline | null = null
  let endings: readonly Ending[] = []
  const asked = new Map<string, number>() // tile → generation of its latest request
  const still = matchMedia('(prefers-reduced-motion: reduce)')
  const moves = motion(() => still.matches)
  const pieces = live(ids.live)
  const paper = overlay.getContext('2d')

  const key = (layer: string, t: { z: number; x: number; y: number }) => `${layer}/${t.z}/${t.x}/${t.y}`
  const address = /\/tiles\/(\w+)\/(\d+)\/(\d+)\/(\d+)\.mvt/
  let map: MapLibre
  try {
    map = new MapLibre({
      container, style: style(location.origin + base), center: [0, 20], zoom: 1, maxZoom: 22, minZoom: 1,
      attributionControl: false, dragRotate: false, pitchWithRotate: false, touchPitch: false, renderWorldCopies: false,
      fadeDuration: 0, maxTileCacheSize: 0, refreshExpiredTiles: false, maxPitch: 0,
      transformRequest: (url) => {
        const m = address.exec(url)
        if (m === null || ground === null) return { url }
        asked.set(`${m[1]}/${m[2]}/${m[3]}/${m[4]}`, ground.generation)
        return { url: `${tileScheme}:/${new URL(url).pathname}?v=${Math.max(0, ground.revision)}-${ground.generation}${ground.operation > 0 ? `&operation=${ground.operation}` : ''}` }
      },
    })
  } catch (e) {
    w.failed(e instanceof Error ? e.message : String(e))
    return null
  }
  map.touchZoomRotate.disableRotation()
  map.keyboard.disableRotation()
  map.getCanvas().setAttribute('aria-label', 'Map of the field and the machine. Arrow keys move it, plus and minus zoom.')

  const usable = (layer: TileLayer) => layer !== 'swaths' || layer === groundLayer(colouring)
  const inView = () => map.coveringTiles({ tileSize: 512, minzoom: 0, maxzoom: tilesMaxZoom, roundZoom: false }).map((t) => t.canonical)

  /** check fetches stale tiles and tells what is drawn. */
  const check = () => {
    if (!loaded || ground === null || ground.revision < 0) return
    const g = ground
    let fresh = true
    const tiles = inView()
    for (const layer of tileLayers) {
      if (!usable(layer)) continue
      if (!map.isSourceLoaded(layer)) { fresh = false; continue }
      const again = tiles.filter((t) => stale(t, asked.get(key(layer, t)) ?? -1, g.changes))
      if (again.length === 0) continue
      fresh = false
      const failed = again.some((t) => !asked.has(key(layer, t)))
      if (failed && performance.now() - lastRetry < retryMs) continue
      if (failed) lastRetry = performance.now()
      map.refreshTiles(layer, again)
    }
    if (!fresh) return
    if (g.tiled < seam.now) seam = { before: 0, now: 0 } // numbered anew
    if (g.tiled > seam.now) seam = { before: seam.now, now: g.tiled }
    if (asked.size > 5000) for (const k of [...asked.keys()].slice(0, 2500)) asked.delete(k)
    settled = true
    w.tiled(seam.before)
    tell(g)
  }
  const tell = (g: Ground) => w.drawn({ work: Math.max(g.tiled, Math.min(g.last, shownPose()?.work ?? g.last)), revision: g.revision, pieces: pieces.count(), camera: look() })
  const look = () => { const { lng, lat } = map.getCenter(); return { at: [lng, lat] as Position, zoom: map.getZoom(), bearing: map.getBearing() } }
  const shownPose = () => moves.at(performance.now())?.pose ?? null

  const recolour = () => {
    for (const [layer, property, value] of paints(colouring)) map.setPaintProperty(layer, property as 'fill-color', value as string)
    for (const [layer, visible] of shown(colouring)) map.setLayoutProperty(layer, 'visibility', visible ? 'visible' : 'none')
    for (const [name, image] of images(colouring.tokens)) {
      if (map.hasImage(name)) map.updateImage(name, image)
      else map.addImage(name, image, { pixelRatio: imageScale })
    }
    pieces.set(ground?.pieces ?? [], colouring)
    paint()
  }

  const relabel = () => {
    const now = performance.now()
    if (!loaded || now - lastLabels < labelsMs) return
    lastLabels = now
    const found = new Map<string, Label & { area: number }>()
    for (const f of map.querySourceFeatures('skips', { sourceLayer: 'skips' })) {
      const { lon, lat, area_m2: area } = f.properties as { lon?: number; lat?: number; area_m2?: number }
      if (lon === undefined || lat === undefined || area === undefined) continue
      found.set(`${lon},${lat}`, { at: [lon, lat], text: show(system, 'patch', area), area })
    }
    const bounds = map.getBounds()
    // from afar labels would hide the map
    const seen = [...found.values()].filter((l) => bounds.contains(l.at) && metre() * Math.sqrt(l.area) > labelFromPx)
    labels = seen.sort((a, b) => b.area - a.area).slice(0, mostLabels)
  }

  const metre = () => 1 / metresPerPixel(map.getZoom(), map.getCenter().lat)

  const paint = () => {
    if (paper === null) return
    const ratio = Math.min(2, devicePixelRatio)
    const [width, height] = [Math.round(overlay.clientWidth * ratio), Math.round(overlay.clientHeight * ratio)]
    if (overlay.width !== width) overlay.width = width
    if (overlay.height !== height) overlay.height = height
    draw(paper, { tokens: colouring.tokens, pose: shownPose(), old, labels, endings }, (p: Position) => map.project(p), metre())
  }

  const camera = (pose: Pose) => {
    if (!following || gesture || pose.antenna === null) return false
    const bearing = up && pose.headingDeg !== null ? pose.headingDeg : 0
    const offset = up ? Math.max(0, Math.min(container.clientHeight * aheadPart, container.clientHeight / 2 - 150)) : 0
    const zoom = placed ? map.getZoom() : 18.5
    placed = true
    map.jumpTo({ center: pose.antenna, bearing, zoom, padding: { top: 2 * offset, bottom: 0, left: 0, right: 0 } })
    return true
  }

  const step = (now: number) => {
    frame = 0
    if (now - lastFrame < frameMs - 4) { wake(); return }
    lastFrame = now
    const at = moves.at(performance.now())
    if (at === null) return
    pieces.limit(at.pose.work)
    if (!camera(at.pose)) paint() // a camera that moves draws with the map
    if (at.moving) wake()
  }
  const wake = () => { if (frame === 0) frame = requestAnimationFrame(step) }

  let lastScale = ''
  const scale = () => {
    const bar = scaleBar(system, metresPerPixel(map.getZoom(), map.getCenter().lat), 140)
    const now = `${bar.text} ${Math.round(bar.pixels)}`
    if (now !== lastScale) w.scale(bar)
    lastScale = now
  }

  map.on('style.load', () => {
    loaded = true
    map.addLayer(pieces, ids.coveredEdge)
    recolour()
    showPreview()
    scale()
    wake()
    check()
  })
  map.on('render', () => {
    paint()
    if (ground !== null && ground.revision >= 0 && settled) tell(ground)
  })
  map.on('idle', () => { relabel(); paint(); check() })
  map.on('sourcedata', () => { if (loaded) queueMicrotask(check) })
  map.on('moveend', () => { scale(); check() })
  map.on('dragstart', () => { following = false; w.freed() })
  map.on('zoomstart', (e) => { if (e.originalEvent !== undefined) gesture = true })
  map.on('zoomend', () => { gesture = false; wake() })
  map.on('moveend', (e) => { if (e.originalEvent !== undefined) gesture = false })
  map.on('error', (e) => {
    const tile = (e as unknown as { tile?: { tileID?: { canonical?: { z: number; x: number; y: number } } }; sourceId?: string })
    const id = tile.tile?.tileID?.canonical
    if (id !== undefined && tile.sourceId !== undefined) asked.delete(key(tile.sourceId, id))
  })
  map.getCanvas().addEventListener('keydown', (e) => {
    if (e.key.startsWith('Arrow') && following) { following = false; w.freed() }
  })
  const resized = new ResizeObserver(() => { map.resize(); wake() })
  resized.observe(container)

  const showPreview = () => {
    if (!loaded) return
    const source = map.getSource<GeoJSONSource>(ids.preview)
    void source?.setData({
      type: 'FeatureCollection',
      features: preview === null ? [] : [{ type: 'Feature', properties: {}, geometry: preview }],
    })
  }

  return {
    colour(c) {
      colouring = c
      if (loaded) recolour()
    },
    ground(g) {
      const before = ground
      ground = g
      moves.worked(g.last)
      if (before?.pieces !== g.pieces) {
        pieces.set(g.pieces, colouring)
        wake()
      }
      if (before?.changes !== g.changes) check()
    },
    pose(p, isOld) {
      old = isOld
      moves.arrived(p, performance.now())
      wake()
    },
    units(s) {
      system = s
      lastLabels = Number.NEGATIVE_INFINITY
      scale()
      relabel()
      paint()
    },
    machineUp(on) {
      up = on
      if (!up && !following) map.jumpTo({ bearing: 0 })
      wake()
    },
    follow() {
      following = true
      wake()
    },
    zoomBy(steps) {
      map.jumpTo({ zoom: map.getZoom() + steps })
      wake()
    },
    endings(list) {
      endings = list
      wake()
    },
    preview(outline) {
      preview = outline
      showPreview()
    },
    close() {
      cancelAnimationFrame(frame)
      resized.disconnect()
      map.remove()
    },
  }
}
