// Where this phone is, as far as the browser tells: it does so on secure origins alone,
// which a recorder without TLS is not, so most will go by the machine.

import { useEffect, useState } from 'preact/hooks'

export interface OwnPlace { at: readonly [lon: number, lat: number] | null; accuracyM: number | null }

/** A phone's place that is older than this tells nothing of where a walker is. */
const oldMs = 30_000

export function useOwnPlace(): OwnPlace {
  const [place, setPlace] = useState<OwnPlace>({ at: null, accuracyM: null })
  useEffect(() => {
    if (!window.isSecureContext || !('geolocation' in navigator)) return
    let timer = 0
    const lost = () => setPlace({ at: null, accuracyM: null })
    const watch = navigator.geolocation.watchPosition(({ coords }) => {
      clearTimeout(timer)
      timer = window.setTimeout(lost, oldMs)
      setPlace({ at: [coords.longitude, coords.latitude], accuracyM: Number.isFinite(coords.accuracy) ? coords.accuracy : null })
    }, lost, { enableHighAccuracy: true, maximumAge: 5000 })
    return () => { clearTimeout(timer); navigator.geolocation.clearWatch(watch) }
  }, [])
  return place
}
