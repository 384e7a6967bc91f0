package access

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"strings"
	"sync"
	"sync/atomic"
	"time"
	"unicode"
)

// Bounds of what is kept.
const (
	maxDevices  = 64
	maxNameRune = 64
)

// Device is a paired device, as shown.
type Device struct {
	ID       string    `json:"id"`
	Name     string    `json:"name"`
	Role     Role      `json:"role"`
	Since    time.Time `json:"since"`
	LastSeen time.Time `json:"last_seen"` // whole minutes
}

// device is one entry of the list. Its role never changes: another role is another
// entry with the same presence.
type device struct {
	id, name string
	role     Role
	since    time.Time
	token    digest
	*presence
}

// presence is what a device does now.
type presence struct {
	life   context.Context // ends when the device is revoked: its requests end with it
	revoke context.CancelFunc
	seen   atomic.Int64 // unix seconds of a whole minute
	open   atomic.Int32 // requests being answered

	mu   sync.Mutex
	left bucket
}

func newPresence(seen time.Time) *presence {
	p := &presence{}
	p.life, p.revoke = context.WithCancel(context.Background())
	p.see(seen)
	return p
}

// see notes the minute, and tells whether it is a new one.
func (p *presence) see(now time.Time) bool {
	minute := now.Truncate(time.Minute).Unix()
	return p.seen.Swap(minute) != minute
}

func (p *presence) take(r rate, now time.Time) (time.Duration, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.left.take(r, now)
}

func (d *device) shown(now time.Time) Device {
	if d.open.Load() > 0 {
		d.see(now)
	}
	return Device{ID: d.id, Name: d.name, Role: d.role, Since: d.since, LastSeen: time.Unix(d.seen.Load(), 0).UTC()}
}

// devices is a list in the order of pairing. It is not changed once it is in use.
type devices struct {
	list    []*device
	byToken map[digest]*device
}

func newDevices(list []*device) *devices {
	d := &devices{list: list, byToken: make(map[digest]*device, len(list))}
	for _, v := range list {
		d.byToken[v.token] = v
	}
	return d
}

func newID() string {
	var b [8]byte
	_, _ = rand.Read(b[:]) // never fails: it ends the program instead
	return hex.EncodeToString(b[:])
}

// deviceName makes a name fit to be shown: printable, short, never empty.
func deviceName(name string) string {
	name = strings.Map(func(r rune) rune {
		if r == unicode.ReplacementChar || !unicode.IsPrint(r) {
			return ' '
		}
		return r
	}, name[:min(len(name), 16*maxNameRune)])
	name = strings.Join(strings.Fields(name), " ")
	if runes := []rune(name); len(runes) > maxNameRune {
		name = strings.TrimSpace(string(runes[:maxNameRune]))
	}
	if name == "" {
		return "unnamed device"
	}
	return name
}
