package daemon

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
