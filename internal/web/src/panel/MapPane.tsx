// The map with its buttons, its legend and its scale bar.

import { useEffect, useRef, useState } from 'preact/hooks'
import { productColour, ratioStops, type Colouring, type Mode } from '../colour'
import { looks } from '../look'
import { endingsOf } from '../map/ending'
import { poseOf } from '../map/pose'
import { view, type View } from '../map/view'
import { change, useLook, useSettings } from '../settings'
import { ages, isOld } from '../store'
import type { Outline, State } from '../wire'
import { useModel, useStore } from './common'

const modes: [Mode, string][] = [['times', 'Times'], ['rate', 'Rate'], ['product', 'Product']]

/** productsOf are the products of the work in the order of their tanks, each once. */
export function productsOf(s: State | null): string[] {
  const names = [...(s?.operation?.products ?? []).map((p) => p.name), ...(s?.tanks ?? []).map((t) => t.product)]
  return [...new Set(names.filter((n) => n !== ''))].sort()
}

export function MapPane({ preview }: { preview: Outline | null }) {
  const m = useModel()
  const store = useStore()
  const settings = useSettings()
  const look = useLook()
  const at = useRef<HTMLDivElement>(null)
  const paper = useRef<HTMLCanvasElement>(null)
  const map = useRef<View | null>(null)
  const [following, setFollowing] = useState(true)
  const [bar, setBar] = useState<{ pixels: number; text: string } | null>(null)
  const [failed, setFailed] = useState<string | null>(null)

  const tanks = m.state?.tanks ?? []
  const tank = tanks.find((t) => t.tank === settings.tank)?.tank ?? tanks[0]?.tank ?? 1
  const products = productsOf(m.state)
  const names = products.join('\n')
  const colouring: Colouring = { mode: settings.mode, tank, products, tokens: looks[look] }
  const units = m.state?.units ?? 'metric'

  useEffect(() => {
    if (at.current === null || paper.current === null) return
    const root = document.documentElement
    map.current = view(at.current, paper.current, { colouring, system: units }, {
      freed: () => setFollowing(false),
      tiled: (work) => store.tell({ kind: 'tiles drawn', work }),
      drawn: (what) => {
        const { at: [lon, lat], zoom, bearing } = what.camera
        for (const [name, value] of [['lastWork', what.work], ['tilesRevision', what.revision], ['livePieces', what.pieces], ['camera', `${lon} ${lat} ${zoom} ${bearing}`]] as const) {
          if (root.dataset[name] !== String(value)) root.dataset[name] = String(value)
        }
      },
      scale: setBar,
      failed: setFailed,
    })
    map.current?.ground(store.get().ground)
    return () => { map.current?.close(); map.current = null }
  }, [])
  useEffect(() => map.current?.colour(colouring), [settings.mode, tank, names, look])
  useEffect(() => map.current?.units(units), [units])
  useEffect(() => map.current?.machineUp(settings.machineUp), [settings.machineUp])
  useEffect(() => map.current?.preview(preview), [preview])
  useEffect(() => map.current?.ground(m.ground), [m.ground])
  const age = ages(m)
  const paused = m.state?.replay?.playing === false
  const old = isOld(age.link) || (!paused && isOld(age.fix))
  useEffect(() => {
    if (m.state === null) return
    map.current?.endings(endingsOf(m.state))
    map.current?.pose(poseOf(m.state, m.ground.last), old)
  }, [m.stateAt, old])

  return (
    <section class={old ? 'map-pane is-old' : 'map-pane'} aria-label="Map" data-test="map" data-following={following}>
      <div ref={at} class="map" />
      <canvas ref={paper} class="overlay" aria-hidden="true" />
      {failed === null ? null : <p class="map-failed fault" data-test="map-failed">This device cannot draw the map ({failed}). The figures beside it go on.</p>}
      <div class="map-buttons">
        <button type="button" class="button round" data-test="zoom-in" aria-label="Nearer" onClick={() => map.current?.zoomBy(0.75)}>+</button>
        <button type="button" class="button round" data-test="zoom-out" aria-label="Farther" onClick={() => map.current?.zoomBy(-0.75)}>−</button>
        <button type="button" class="button round" data-test="orientation" aria-label={settings.machineUp ? 'The map turns with the machine: put north up' : 'North is up: turn with the machine'} onClick={() => change({ machineUp: !settings.machineUp })}>
          {settings.machineUp ? <svg viewBox="0 0 24 24" width="30" height="30" aria-hidden="true"><path d="M12 2 19 21 12 17 5 21Z" /></svg> : 'N'}
        </button>
      </div>
      {following ? null : <button type="button" class="button primary follow" data-test="follow" onClick={() => { setFollowing(true); map.current?.follow() }}>Follow</button>}
      <div class="map-foot">
        {bar === null ? null : <div class="scale" data-test="scale"><span>{bar.text}</span><div ref={(e) => { if (e !== null) e.style.width = `${bar.pixels}px` }} /></div>}
        <Legend colouring={colouring} tanks={tanks.map((t) => ({ tank: t.tank, product: t.product }))} />
      </div>
    </section>
  )
}

function Swatch({ colour }: { colour: string }) {
  return <i class="swatch" ref={(e) => { if (e !== null) e.style.background = colour }} />
}

function Legend({ colouring: c, tanks }: { colouring: Colouring; tanks: { tank: number; product: string }[] }) {
  const [open, setOpen] = useState(false)
  const label = modes.find(([mode]) => mode === c.mode)?.[1] ?? ''
  return (
    <div class="legend" data-test="legend">
      <button type="button" class="button plain" aria-expanded={open} data-test="legend-open" onClick={() => setOpen(!open)}>Colour: {label.toLowerCase()}</button>
      {open ? (
        <div class="legend-body">
          <div class="choice" role="group" aria-label="Colour the ground by">
            {modes.map(([mode, name]) => <button key={mode} type="button" class="button plain" aria-pressed={c.mode === mode} data-test={`colour-${mode}`} onClick={() => change({ mode })}>{name}</button>)}
          </div>
          {c.mode !== 'times' && tanks.length > 1 ? (
            <div class="choice" role="group" aria-label="Tank">
              {tanks.map((t) => <button key={t.tank} type="button" class="button plain" aria-pressed={c.tank === t.tank} data-test={`colour-tank-${t.tank}`} onClick={() => change({ tank: t.tank })}>Tank {t.tank}</button>)}
            </div>
          ) : null}
          <ul>
            {c.mode === 'times' ? <><li><Swatch colour={c.tokens.covered} />once</li><li><Swatch colour={c.tokens.twice} />more than once</li></> : null}
            {c.mode === 'rate' ? ratioStops.map(([ratio, colour]) => <li key={ratio}><Swatch colour={colour} />{Math.round(ratio * 100)} % of target</li>) : null}
            {c.mode === 'product' ? c.products.map((name, i) => <li key={name}><Swatch colour={productColour(i)} />{name}</li>) : null}
            {c.mode === 'times' ? null : <li><Swatch colour={c.tokens.unknown} />not known</li>}
            <li><i class="swatch hatch dots" />overlap at the headland</li>
            <li><i class="swatch hatch stripes" />overlap between passes</li>
            <li><i class="swatch hatch grid" />overlap of late sections</li>
            <li><i class="swatch outline" />skipped</li>
          </ul>
        </div>
      ) : null}
    </div>
  )
}
