// A field that the machine is coming to or in: work there, or not now.

import { api } from '../api'
import { offerText } from '../text/words'
import { Act, Fault, useAction, useModel, useStore } from './common'

export function OfferBanner() {
  const { state, declined } = useModel()
  const store = useStore()
  const action = useAction()
  const offer = state?.place.offer ?? null
  const shown = offer !== null && offer.field !== declined ? offer : null
  return (
    <div role="status">
      {shown === null ? null : (
        <div class="offer" data-test="offer">
          <strong>{offerText(shown)}</strong>
          <div class="row">
            <Act kind="primary" test="work-here" disabled={action.busy} onClick={() => action.run(() => api.acceptField(shown.field))}>Work here</Act>
            <button type="button" class="button plain" data-test="not-now" onClick={() => store.tell({ kind: 'declined', field: shown.field })}>Not now</button>
          </div>
          <Fault text={action.error} />
        </div>
      )}
    </div>
  )
}
