// A field that the machine is coming to or in: one touch begins what is planned
// there, another lets it be.

import { useState } from 'preact/hooks'
import { api } from '../api'
import { offerText } from '../text/words'
import { Act, Fault, useAction, useModel, useOffline, useStore, useWhyNot } from '../panel/common'
import { Cautions, Chips, useChoices } from './common'
import { day } from './day'
import { startText } from './words'

export function OfferBanner({ onChange }: { onChange: (field: string) => void }) {
  const { state, declined } = useModel()
  const offer = state?.place.offer ?? null
  const shown = offer !== null && offer.field !== declined ? offer : null
  return <div role="status">{shown === null ? null : <Offered key={shown.field} field={shown.field} text={offerText(shown)} onChange={onChange} />}</div>
}

function Offered({ field, text, onChange }: { field: string; text: string; onChange: (field: string) => void }) {
  const store = useStore()
  const action = useAction()
  const offline = useOffline()
  const may = useWhyNot() === null
  const { choices } = useChoices(field)
  const [person, setPerson] = useState<string | null>(null)
  const planned = (choices?.begin.plans ?? []).length > 0
  const lacks = (choices?.would.lacks ?? []).filter((l) => l !== 'person' || (choices?.people.length ?? 0) === 0)
  const who = person ?? choices?.begin.person ?? choices?.now.person ?? null
  const start = () => action.run(async () => {
    if (choices === null) return api.acceptField(field)
    return day.begin({ ...choices.begin, ...(person === null ? {} : { person }) })
  })
  return (
    <div class="offer" data-test="offer">
      <strong>{text}</strong>
      {choices === null || !may ? null : (
        <>
          <Cautions of={choices.would.cautions} />
          {choices.now.person === null && (choices.begin.person == null || choices.people.length > 1)
            ? <Chips legend="Who works?" of={choices.people.slice(0, 4).map((p) => p.name)} value={who} test="offer-person" onPick={setPerson} /> : null}
          {planned && lacks.length > 0 ? <p class="note" data-test="offer-lacks">Still to say later: {lacks.join(', ')}.</p> : null}
        </>
      )}
      <Act kind="primary" test={planned ? 'start' : 'work-here'} disabled={action.busy || offline} onClick={start}>{planned ? startText(choices?.would.words ?? '') : 'Work here'}</Act>
      <div class="row">
        {may ? <button type="button" class="button plain" data-test="offer-change" onClick={() => onChange(field)}>Something else</button> : null}
        <button type="button" class="button plain" data-test="not-now" onClick={() => store.tell({ kind: 'declined', field })}>Not now</button>
      </div>
      <Fault text={action.error} />
    </div>
  )
}
