// A machine from above, to scale; the distance that is being entered stands out.

import type { JSX } from 'preact'
import type { Length } from './draft'
import { plain } from './draft'
import { frame, view, type Box, type Distance, type Measures } from './topview'

export function TopView({ of, active, unit }: { of: Measures; active: string | null; unit: Length }) {
  const v = view(of)
  const f = frame(v, active)
  const em = f.h > f.w ? f.h / 26 : f.w / 30 // the size of words, in metres
  const y = (m: number) => -m // of the drawing, which counts down
  const box = (b: Box, kind: string) => <rect class={kind} x={b.x} y={y(b.y)} width={b.w} height={b.h} rx={em / 4} />
  const said = (m: number) => `${plain(m / unit.si, 2)} ${unit.symbol}`
  const few = v.sections.length <= 16
  const lit = v.distances.find((d) => d.member === active)
  return (
    <figure class="topview">
      <svg viewBox={`${f.x} ${y(f.y)} ${f.w} ${f.h}`} role="img" aria-label={words(v.distances, said)} data-test="topview" data-active={lit?.member ?? ''} style={{ '--em': `${em}px` }}>
        {v.wheels.map((w) => box(w, 'tv-wheel'))}
        {box(v.tractor, 'tv-tractor')}
        {v.beam === null ? null : <line class="tv-beam" x1={v.beam[0].x} y1={y(v.beam[0].y)} x2={v.beam[1].x} y2={y(v.beam[1].y)} />}
        <line class="tv-middle" x1={v.middle[0].x} y1={y(v.middle[0].y)} x2={v.middle[1].x} y2={y(v.middle[1].y)} />
        {v.sections.map((s, k) => (
          <g key={k} class={`sections_m[${k}]` === active ? 'tv-section is-active' : 'tv-section'}>
            <rect x={s.from.x} y={y(s.from.y) - em / 3} width={Math.max(s.width, 0)} height={em / 1.5} />
            {few && active === null ? <text x={(s.from.x + s.to.x) / 2} y={y(s.from.y) + em * 1.5} text-anchor="middle">{k + 1}</text> : null}
          </g>
        ))}
        {v.axle === null ? null : <g class="tv-wheel">{[-1, 1].map((side) => <rect key={side} x={(v.axle?.x ?? 0) + side * 1 - 0.2} y={y(v.axle?.y ?? 0) - 0.5} width={0.4} height={1} rx={0.1} />)}<line class="tv-beam" x1={v.axle.x - 1} x2={v.axle.x + 1} y1={y(v.axle.y)} y2={y(v.axle.y)} /></g>}
        {v.hitch === null ? null : <circle class="tv-hitch" cx={v.hitch.x} cy={y(v.hitch.y)} r={em / 3} />}
        {v.linkage === null ? null : <line class="tv-beam" x1={v.linkage.x - 0.5} x2={v.linkage.x + 0.5} y1={y(v.linkage.y)} y2={y(v.linkage.y)} />}
        <g class="tv-antenna"><circle cx={0} cy={0} r={em / 2.2} /><circle cx={0} cy={0} r={em / 7} /></g>
        {lit === undefined ? null : <Dimension d={lit} em={em} text={said(lit.value)} y={y} frame={f} />}
      </svg>
      <figcaption class="quiet">{lit === undefined ? 'To scale; ahead is up. ◎ antenna, ● hitch.' : `To scale: ${said(lit.value)}.`}{of.implement === null ? null : ` Bar ${said(of.implement.sections_m.reduce((a, b) => a + b, 0))}.`}</figcaption>
    </figure>
  )
}

function words(all: readonly Distance[], said: (m: number) => string): string {
  const bar = all.filter((d) => d.member.startsWith('sections_m')).length
  return `The machine from above: ${all.filter((d) => !d.member.startsWith('sections_m')).map((d) => `${d.member.replace(/_m$/, '').replaceAll('_', ' ')} ${said(d.value)}`).join(', ')}${bar === 0 ? '' : `, ${bar} sections`}`
}

/** A distance with its ends marked and its length beside it. */
function Dimension({ d, em, text, y, frame: f }: { d: Distance; em: number; text: string; y: (m: number) => number; frame: Box }): JSX.Element {
  const upright = Math.abs(d.to.y - d.from.y) > Math.abs(d.to.x - d.from.x)
  const ends = [d.from, d.to].map((p, k) => upright
    ? <line key={k} x1={p.x - em * 0.7} x2={p.x + em * 0.7} y1={y(p.y)} y2={y(p.y)} />
    : <line key={k} x1={p.x} x2={p.x} y1={y(p.y) - em * 0.7} y2={y(p.y) + em * 0.7} />)
  const room = text.length * em * 0.75
  const at = { x: (d.from.x + d.to.x) / 2, y: y((d.from.y + d.to.y) / 2) }
  const x = upright ? at.x + em * 1.2 : Math.min(Math.max(at.x, f.x + room / 2), f.x + f.w - room / 2)
  return (
    <g class="tv-dimension">
      <line x1={d.from.x} y1={y(d.from.y)} x2={d.to.x} y2={y(d.to.y)} />
      {ends}
      <text x={x} y={upright ? at.y + em * 0.4 : at.y + em * 2.1} text-anchor={upright ? 'start' : 'middle'}>{text}</text>
    </g>
  )
}
