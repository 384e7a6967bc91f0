// Who may use the screen: pairing of this device, and the list of devices on the
// machine that the recorder runs on.

import { useState } from 'preact/hooks'
import { api } from '../api'
import type { Device, GivenRole, PairingCode } from '../wire'
import { Fault, Sheet, useAction, useEvery } from './common'

export function Pairing({ onPaired }: { onPaired: () => void }) {
  const [code, setCode] = useState('')
  const [name, setName] = useState('')
  const action = useAction()
  return (
    <main class="pairing" data-test="pairing">
      <h1>This device is not known yet</h1>
      <p>On the recorder’s own screen open Devices: it shows a code. Enter it here.</p>
      <form onSubmit={(e) => { e.preventDefault(); action.run(() => api.pair(code.trim(), name.trim()), onPaired) }}>
        <label class="field">Code<input type="text" inputMode="numeric" autoComplete="one-time-code" placeholder="1234-5678" value={code} data-test="pair-code" onInput={(e) => setCode(e.currentTarget.value)} /></label>
        <label class="field">Name of this device<input type="text" placeholder="tablet in the cab" value={name} data-test="pair-name" onInput={(e) => setName(e.currentTarget.value)} /></label>
        <button type="submit" class="button primary" data-test="pair" disabled={action.busy || code.trim() === '' || name.trim() === ''}>Connect</button>
      </form>
      <Fault text={action.error} />
    </main>
  )
}

const roles: [GivenRole, string][] = [['operator', 'May change things'], ['viewer', 'May look'], ['helper', 'May tick marks']]

export function DevicesSheet({ onClose }: { onClose: () => void }) {
  const [code, setCode] = useState<PairingCode | null>(null)
  const [devices, setDevices] = useState<Device[]>([])
  const [fault, setFault] = useState<string | null>(null)
  const action = useAction()
  const ask = async () => {
    const [c, d] = await Promise.all([api.code(), api.devices()])
    if (c.ok) setCode(c.value)
    if (d.ok) setDevices(d.value.devices)
    setFault(!c.ok ? c.error : d.ok ? null : d.error)
  }
  useEvery(3000, ask)
  return (
    <Sheet title="Devices" test="devices-sheet" onClose={onClose}>
      <section>
        <h3>Let another device in</h3>
        <p>Open this page on it and enter the code. It holds for a few minutes and for one device. A phone that may tick marks opens this page with /marks behind its address.</p>
        <p class="code" data-test="code">{code?.code ?? '····-····'}</p>
        <p class="quiet">{code === null ? '' : `For a device that ${(roles.find(([role]) => role === code.role)?.[1] ?? '').toLowerCase()}${code.expires === null ? '' : `, until ${new Date(code.expires).toLocaleTimeString('en-GB')}`}.`}</p>
        <div class="row">
          {roles.map(([role, label]) => <button key={role} type="button" class="button plain" data-test={`new-code-${role}`} disabled={action.busy} onClick={() => action.run(() => api.newCode(role), setCode)}>New code: {label.toLowerCase()}</button>)}
        </div>
      </section>
      <section>
        <h3>Known devices</h3>
        {devices.length === 0 ? <p class="quiet">None yet.</p> : null}
        <ul class="list">
          {devices.map((d) => (
            <li key={d.id} data-test="device">
              <span>{d.name}<span class="note"> {d.last_seen === null ? 'not seen yet' : `last seen ${new Date(d.last_seen).toLocaleString('en-GB')}`}</span></span>
              <span class="row">
                {roles.map(([role, label]) => <button key={role} type="button" class="button plain" aria-pressed={d.role === role} data-test={`device-${role}`} aria-label={`${label}: ${d.name}`} disabled={action.busy} onClick={() => action.run(() => api.setRole(d.id, role), () => void ask())}>{label}</button>)}
                <button type="button" class="button danger" data-test="revoke" aria-label={`Shut out: ${d.name}`} disabled={action.busy} onClick={() => action.run(() => api.revoke(d.id), () => void ask())}>Shut out</button>
              </span>
            </li>
          ))}
        </ul>
      </section>
      <Fault text={fault ?? action.error} />
    </Sheet>
  )
}
