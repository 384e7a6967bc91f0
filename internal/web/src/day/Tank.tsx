// One tank: what is in it, its target, a refill, a product made on the spot.

import { useEffect, useRef, useState } from 'preact/hooks'
import { Act, Fault, Sheet, useAction, useModel, useOffline, ViewerWord } from '../panel/common'
import { amountOf, show } from '../units'
import { Chips, Quantity, useChoices } from './common'
import { amountUnits, day, parted, rateUnits, withNumber, type Choices, type ProductChoice } from './day'
import { QuickProduct } from './Quick'
import { away, fromText, labelCaution, left } from './words'

type Way = 'product' | 'refill' | 'target' | 'new'

const ways: readonly [Way, string][] = [['product', 'Product'], ['refill', 'Filled'], ['target', 'Target'], ['new', 'New product']]

export function TankSheet({ tank, onClose }: { tank: number; onClose: () => void }) {
  const { state } = useModel()
  const { choices, error } = useChoices(null)
  const [way, setWay] = useState<Way>('product')
  const now = state?.tanks.find((t) => t.tank === tank)
  const stated = choices?.tanks.find((t) => t.tank === tank) ?? null
  const units = state?.units ?? 'metric'
  const q = amountOf(now?.unit ?? null)
  const reach = now === undefined ? '' : left(now, now.runs_out === null ? '' : away(units, now.runs_out.in_m))
  return (
    <Sheet title={`Tank ${tank}`} test="tank-sheet" onClose={onClose}>
      <ViewerWord />
      <p class="big" data-test="tank-now">{stated?.product ?? 'Nothing is stated to be in it'}{stated?.target == null ? '' : `, ${stated.target}`}</p>
      <p class="quiet" data-test="tank-level">
        {now === undefined || now.level === null || q === null ? 'Its level is not known: say what was filled in.' : `${show(units, q.amount, now.level)} in it, ${now.level_from === 'refills' ? 'as filled in less what was laid' : 'as the controller says'}${reach === '' ? '' : `; ${reach}`}.`}
      </p>
      <div class="choice" role="group" aria-label="What to say of it">
        {ways.map(([w, name]) => <button key={w} type="button" class="button plain" aria-pressed={way === w} data-test={`tank-${w}`} onClick={() => setWay(w)}>{name}</button>)}
      </div>
      <Fault text={error} />
      {choices === null ? null : way === 'product' ? <PutProduct tank={tank} choices={choices} onDone={onClose} />
        : way === 'refill' ? <Refill tank={tank} choices={choices} onDone={onClose} />
          : way === 'target' ? <Target tank={tank} choices={choices} onDone={onClose} />
            : <QuickProduct tank={tank} onDone={onClose} />}
    </Sheet>
  )
}

const few = 6

function PutProduct({ tank, choices, onDone }: { tank: number; choices: Choices; onDone: () => void }) {
  const [chosen, choose] = useState<string | null>(null)
  const [find, setFind] = useState('')
  const [all, setAll] = useState(false)
  const wanted = find.trim().toLowerCase()
  const found = choices.products.filter((p) => wanted === '' || p.name.toLowerCase().includes(wanted))
  const shown = all || wanted !== '' ? found : found.slice(0, few)
  return (
    <section>
      {choices.products.length > few ? <label class="field wide">Find<input type="search" autocomplete="off" value={find} data-test="find-product" onInput={(e) => setFind(e.currentTarget.value)} /></label> : null}
      <ul class="plans">
        {shown.map((p) => (
          <li key={p.name}>
            <button type="button" class="button plain" aria-expanded={chosen === p.name} data-test="product" onClick={() => choose(chosen === p.name ? null : p.name)}>
              <span>{p.name} {p.target ?? ''}</span><span class="note">{[p.kind ?? 'not in the catalogue', fromText(p.from)].filter((t) => t !== '').join(', ')}</span>
            </button>
            {chosen === p.name ? <PutIn tank={tank} product={p} onDone={onDone} /> : null}
          </li>
        ))}
      </ul>
      {shown.length < found.length ? <button type="button" class="button plain" data-test="all-products" onClick={() => setAll(true)}>All {found.length} products</button> : null}
      {found.length === 0 ? <p class="quiet">No product of that name. Make it under New product.</p> : null}
    </section>
  )
}

function PutIn({ tank, product: p, onDone }: { tank: number; product: ProductChoice; onDone: () => void }) {
  const units = useModel().state?.units ?? 'metric'
  const possible = rateUnits(units, p.kind)
  const was = parted(p.target)
  const [value, setValue] = useState(was.value)
  const [unit, setUnit] = useState(was.unit === '' ? (possible[0] ?? '') : was.unit)
  const action = useAction()
  const offline = useOffline()
  const target = value.trim() === '' ? undefined : withNumber(value, unit)
  const ref = useRef<HTMLDivElement>(null)
  useEffect(() => ref.current?.scrollIntoView({ block: 'nearest' }), [])
  return (
    <div class="put" ref={ref}>
      <Quantity label="Target" value={value} unit={unit} units={possible} test="put-target" onValue={setValue} onUnit={setUnit} />
      {p.max_rate === null && p.reentry_h === null && p.pre_harvest_days === null ? null : (
        <p class="quiet">Entered for it: {[p.max_rate === null ? '' : `at most ${p.max_rate}`, p.reentry_h === null ? '' : `${p.reentry_h} h to re-entry`, p.pre_harvest_days === null ? '' : `${p.pre_harvest_days} days to harvest`].filter((t) => t !== '').join(', ')}. {labelCaution}</p>
      )}
      <Act kind="primary" test="put-in" disabled={action.busy || offline || target === null} onClick={() => action.run(() => day.put(tank, { product: p.id ?? p.name, ...(target == null ? {} : { target }) }), onDone)}>Put it in tank {tank}</Act>
      <Fault text={action.error} />
    </div>
  )
}

function Refill({ tank, choices, onDone }: { tank: number; choices: Choices; onDone: () => void }) {
  const units = useModel().state?.units ?? 'metric'
  const stated = choices.tanks.find((t) => t.tank === tank) ?? null
  const possible = amountUnits(units, stated?.unit ?? null)
  const [what, setWhat] = useState<'amount' | 'level'>('amount')
  const [value, setValue] = useState('')
  const [unit, setUnit] = useState(possible[0] ?? 'kg')
  const [lot, setLot] = useState('')
  const [person, setPerson] = useState<string | null>(choices.now.person)
  const action = useAction()
  const offline = useOffline()
  const quantity = withNumber(value, unit)
  const full = stated?.capacity ?? null
  const say = () => {
    if (quantity === null) return
    action.run(() => day.refill(tank, { [what]: quantity, ...(lot.trim() === '' ? {} : { lot: lot.trim() }), ...(person === null ? {} : { person }) }), onDone)
  }
  return (
    <section>
      <div class="choice" role="group" aria-label="What is stated">
        {([['amount', 'This much was added'], ['level', 'This much is in it now']] as const).map(([w, name]) => <button key={w} type="button" class="button plain" aria-pressed={what === w} data-test={`refill-${w}`} onClick={() => setWhat(w)}>{name}</button>)}
        {full === null ? null : <button type="button" class="button plain" data-test="refill-full" onClick={() => { const p = parted(full); setWhat('level'); setValue(p.value); setUnit(p.unit) }}>It is full: {full}</button>}
      </div>
      <Quantity label={what === 'amount' ? 'Added' : 'In it now'} value={value} unit={unit} units={possible} test="refill-value" onValue={setValue} onUnit={setUnit} />
      <label class="field wide">Lot, as on the bag or the delivery note<input type="text" autocomplete="off" maxLength={200} value={lot} data-test="refill-lot" onInput={(e) => setLot(e.currentTarget.value)} /></label>
      <Chips legend="Who filled it" of={choices.people.map((p) => p.name)} value={person} test="refill-person" onPick={(p) => setPerson(p === person ? null : p)} />
      <Act kind="primary" test="refill-say" disabled={action.busy || offline || quantity === null} onClick={say}>Tank {tank} was filled</Act>
      <Fault text={action.error} />
    </section>
  )
}

function Target({ tank, choices, onDone }: { tank: number; choices: Choices; onDone: () => void }) {
  const units = useModel().state?.units ?? 'metric'
  const stated = choices.tanks.find((t) => t.tank === tank) ?? null
  const kind = choices.products.find((p) => p.name === stated?.product)?.kind ?? null
  const possible = rateUnits(units, kind)
  const was = parted(stated?.target ?? null)
  const [value, setValue] = useState(was.value)
  const [unit, setUnit] = useState(was.unit === '' ? (possible[0] ?? '') : was.unit)
  const action = useAction()
  const offline = useOffline()
  const target = withNumber(value, unit)
  return (
    <section>
      <p>The target that counts in the record from now on. It changes nothing on the rate controller: set it there too.</p>
      <Quantity label="Target" value={value} unit={unit} units={possible} test="target-value" onValue={setValue} onUnit={setUnit} />
      <Act kind="primary" test="target-say" disabled={action.busy || offline || target === null} onClick={() => { if (target !== null) action.run(() => day.put(tank, { target }), onDone) }}>This is the target</Act>
      <Fault text={action.error} />
    </section>
  )
}
