package daemon

import "drawbar/internal/live"

// Keys of the log.
const (
	keyAddress = "address"
	keyAlarm   = "alarm"
	keyError   = "error"
	keyFile    = "file"
	keyNeeds   = "needs_restart"
	keySession = "session"
	keySubject = "subject"
	keyTanks   = "tanks"
)

// logAlarm says what was raised or cleared. Someone must act on a critical one.
func (c *core) logAlarm(a live.AlarmChange) {
	log := c.cfg.Log.With(keyAlarm, a.Alarm.String(), keySubject, a.Subject)
	switch {
	case !a.Raised:
		log.Info("alarm cleared")
	case a.Severity == live.Critical:
		log.Error(a.Text)
	default:
		log.Warn(a.Text)
	}
}
