// The figures beside the map: what is put down, what is done and what is left.

import { ages, isOld } from '../store'
import { away, left } from '../day/words'
import { howOld, offTarget, qualityWord, sectionsOn, sentence } from '../text/words'
import { about, amountOf, figure, show, type Figure } from '../units'
import type { OverlapBy, State, Tank } from '../wire'
import { Card, useModel, Value } from './common'

export function Figures({ onTank }: { onTank: ((tank: number) => void) | null }) {
  const m = useModel()
  const s = m.state
  if (s === null) return <section class="figures" aria-label="Figures"><p class="quiet waiting" data-test="waiting">Waiting for the recorder …</p></section>
  const age = ages(m)
  const linkOld = isOld(age.link)
  const fixOld = linkOld || isOld(age.fix)
  const reportOld = linkOld || isOld(age.report)
  const u = s.units
  const a = s.operation?.area
  const skips = s.operation?.skips
  const by = s.operation?.overlap_by ?? null
  return (
    <section class="figures" aria-label="Figures">
      {s.tanks.map((t) => <TankCard key={t.tank} tank={t} state={s} old={reportOld} onOpen={onTank} />)}
      <Card label="Done" of={figure(u, 'area', a?.covered_m2)} old={linkOld} test="done" note={a?.field_m2 == null ? undefined : `of ${show(u, 'area', a.field_m2)}`} />
      <Card label="Left" of={figure(u, 'area', a?.remaining_m2)} old={linkOld} test="left" note={s.operation !== null && !s.operation.has_boundary ? 'no boundary yet' : undefined} />
      <Card label="Overlap" of={figure(u, 'area', a?.overlap_m2)} old={linkOld} test="overlap" note={by === null ? undefined : overlapWords(by, a?.overlap_m2 ?? 0)} />
      <Card label="Skipped" of={figure(u, 'area', a?.skip_m2)} old={linkOld} test="skip" note={skips == null ? undefined : skips.open === 1 ? '1 place' : `${skips.open} places`} />
      <Card label="Speed" of={figure(u, 'speed', s.gnss.speed_mps)} old={fixOld} test="speed" note={`sections on ${sectionsOn(s.machine.sections)}`} />
      <FixCard state={s} age={age.fix} old={fixOld} />
    </section>
  )
}

/** Overlap below this, m2, is not told apart by cause. */
const worthNaming = 10

function overlapWords(by: OverlapBy, all: number): string | undefined {
  if (all < worthNaming) return undefined
  const [word, most] = ([['headland', by.headland_m2], ['between passes', by.between_passes_m2], ['sections', by.sections_m2]] as const)
    .reduce((x, y) => (y[1] > x[1] ? y : x))
  return most <= 0 ? undefined : `${Math.round((100 * most) / all)} % ${word}`
}

function TankCard({ tank: t, state: s, old, onOpen }: { tank: Tank; state: State; old: boolean; onOpen: ((tank: number) => void) | null }) {
  const q = amountOf(t.unit)
  const fig = (of: 'amount' | 'rate', v: number | null): Figure | null => (q === null ? null : figure(s.units, q[of], v))
  const part = t.level === null || t.capacity === null || t.capacity <= 0 ? null : Math.min(1, Math.max(0, t.level / t.capacity))
  const off = offTarget(t.rate_per_m2, t.target_per_m2)
  const reach = old ? '' : left({ ...t, time_left_s: null }, t.runs_out === null ? '' : away(s.units, t.runs_out.in_m))
  return (
    <div class="card tank" data-test={`tank-${t.tank}`}>
      <div class="label tank-head">
        <span>Tank {t.tank}{t.product === '' ? '' : `: ${t.product}`}</span>
        {onOpen === null ? null : <button type="button" class="tank-open" aria-label={`Change tank ${t.tank}: product, filling, target`} data-test={`open-tank-${t.tank}`} onClick={() => onOpen(t.tank)}>Change</button>}
      </div>
      <div class="tank-row">
        <div>
          <Value of={fig('rate', t.rate_per_m2)} old={old} test={`rate-${t.tank}`} />
          <div class="note" data-test={`target-${t.tank}`}>
            target {q === null ? 'unknown' : show(s.units, q.rate, t.target_per_m2)}
            {off === null || old ? '' : `, ${off}`}
          </div>
        </div>
        <div class="level">
          <Value of={fig('amount', t.level)} old={old} test={`level-${t.tank}`} />
          <meter class={old ? 'is-old' : ''} min={0} max={1} value={part ?? 0} aria-label={`Tank ${t.tank} level`} hidden={part === null} />
          <div class="note" data-test={`reach-${t.tank}`}>{t.level === null ? 'level unknown' : t.area_left_m2 === null ? 'in the tank' : `does ${about(s.units, 'area', t.area_left_m2)} more`}</div>
        </div>
      </div>
      {reach === '' ? null : <p class="note reach" data-test={`runs-out-${t.tank}`}>{sentence(reach)}</p>}
    </div>
  )
}

function FixCard({ state: s, age, old }: { state: State; age: number | null; old: boolean }) {
  const g = s.gnss
  return (
    <div class="card">
      <div class="label">Position</div>
      <span class={old ? 'value is-old' : 'value'} data-test="fix" data-old={old}>{qualityWord(g.quality)}</span>
      <div class="note" data-test="fix-age">
        {age === null ? 'no fix yet' : `${age < 10 ? age.toFixed(1) : Math.round(age)} s old`}
        {g.satellites === null ? '' : `, ${g.satellites} satellites`}
      </div>
    </div>
  )
}

/** OldBanner says how old the data is, once it is. */
export function OldBanner() {
  const m = useModel()
  const { link, fix, report } = ages(m)
  const s = m.state
  let text: string | null = null
  if (s === null) text = m.link === 'lost' ? 'No connection to the recorder. It is tried again by itself.' : null
  else if (isOld(link)) text = `No connection: the data is ${howOld(link)} old. The recorder goes on by itself; this screen tries again.`
  else if (s.replay === null || s.replay.playing) {
    if (fix !== null && isOld(fix)) text = `The position is ${howOld(fix)} old.`
    else if (report !== null && isOld(report)) text = `The rates are ${howOld(report)} old.`
  }
  return <div class="old-line" role="status">{text === null ? null : <p class="old-banner" data-test="old">{text}</p>}</div>
}
