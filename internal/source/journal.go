package source

import (
	"log/slog"
	"time"
)

// Keys of the log lines.
const (
	keySource     = "source"
	keyAddress    = "address"
	keyBaud       = "baud"
	keyReconnects = "reconnects"
	keyError      = "error"
	keyUnsaid     = "unsaid"
)

const (
	// journalBurst lines are written at once, then one each journalEvery: a loose
	// plug must not fill the disk.
	journalBurst = 20
	journalEvery = time.Minute
)

// journal is what a source writes to the log: that it came, went, or found its
// rate, and a reason for not coming when it is a new one.
type journal struct {
	log    *slog.Logger
	lasted string // the last reason
	left   int
	refill time.Time
	unsaid int
}

func newJournal(log *slog.Logger, name, address string) journal {
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	return journal{log: log.With(keySource, name, keyAddress, address), left: journalBurst}
}

// may tells whether a line may be written now.
func (j *journal) may() bool {
	now := time.Now()
	if j.left > 0 {
		j.left--
		j.refill = now.Add(journalEvery)
		return true
	}
	if now.Before(j.refill) {
		j.unsaid++
		return false
	}
	j.refill = now.Add(journalEvery)
	return true
}

func (j *journal) up(baud int, reconnects uint64) {
	j.lasted = ""
	if j.may() {
		j.log.Info("port opened", keyBaud, baud, keyReconnects, reconnects, keyUnsaid, j.unsaid)
	}
}

func (j *journal) down(err error) {
	if err.Error() == j.lasted {
		return
	}
	j.lasted = err.Error()
	if j.may() {
		j.log.Warn("port lost or not there, trying again", keyError, err, keyUnsaid, j.unsaid)
	}
}

func (j *journal) found(baud int) {
	if j.may() {
		j.log.Info("baud rate found", keyBaud, baud)
	}
}

func (j *journal) noise(baud int) {
	if j.may() {
		j.log.Warn("nothing but noise, looking for the baud rate", keyBaud, baud)
	}
}
