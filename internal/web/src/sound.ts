// The alarm's sound. A browser lets a page be heard only after a touch: unlock is
// called from one.

let audio: AudioContext | null = null

/** unlock readies the sound; call it from a touch. */
export function unlock(): void {
  audio ??= new AudioContext()
  void audio.resume()
}

/** beep sounds twice, higher and three times where someone must act now. */
export function beep(urgent: boolean): void {
  if (audio === null || audio.state !== 'running') return
  const start = audio.currentTime
  for (let i = 0; i < (urgent ? 3 : 2); i++) {
    const tone = audio.createOscillator()
    const volume = audio.createGain()
    tone.frequency.value = urgent ? 1046 : 784 // Hz
    volume.gain.setValueAtTime(0.0001, start + i * 0.3)
    volume.gain.exponentialRampToValueAtTime(0.4, start + i * 0.3 + 0.02)
    volume.gain.exponentialRampToValueAtTime(0.0001, start + i * 0.3 + 0.2)
    tone.connect(volume).connect(audio.destination)
    tone.start(start + i * 0.3)
    tone.stop(start + i * 0.3 + 0.22)
  }
}
