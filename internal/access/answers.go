package access

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"time"
)

// Status is the answer to GET /api/access.
type Status struct {
	Role   Role    `json:"role"`
	Local  bool    `json:"local"`
	Device *string `json:"device"` // name; null on the board and for a stranger
}

// Status tells a client who it is. To a stranger it has the board show a code.
func (g *Gate) Status(ctx context.Context) Status {
	id := From(ctx)
	s := Status{Role: id.Role, Local: id.Local}
	if id.ID != "" {
		s.Device = &id.Device
	}
	if id.Role == None && g.locked == nil {
		g.code(false, Operator)
	}
	return s
}

// Paired is the answer to a pairing. The cookie belongs into the answer's header.
type Paired struct {
	Cookie *http.Cookie
	Role   Role
	Device Device
}

// Pair makes the sender of ctx a device if code is the one in force, which it then
// no longer is. name is for people. The error is an *Error.
func (g *Gate) Pair(ctx context.Context, code, name string) (Paired, error) {
	id, now := From(ctx), g.c.Now()
	if g.locked != nil {
		return Paired{}, refuse(http.StatusServiceUnavailable, "no device can be paired now; the log of the daemon says why")
	}
	if wait, ok := g.tries.take(id.Addr, now); !ok {
		err := refuse(http.StatusTooManyRequests, "too many codes were tried; wait %s and try again", wait.Round(time.Second))
		err.RetryAfter = wait
		return Paired{}, err
	}
	digits, ok := codeDigits(code)
	if !ok {
		return Paired{}, refuse(http.StatusBadRequest, "a code has eight digits, such as 1234-5678; type the one that the board shows")
	}
	role, err := g.useCode(digits, now)
	if err != nil {
		return Paired{}, err
	}
	token := newToken()
	sum, _ := digestOf(token)
	d := &device{id: newID(), name: deviceName(name), role: role, since: now.UTC().Truncate(time.Second), token: sum, presence: newPresence(now)}
	if err := g.add(d); err != nil {
		return Paired{}, err
	}
	g.log.Info("a device was paired", "device", d.id, "role", string(role), "address", id.Addr.String())
	return Paired{Cookie: cookie(token, id.secure), Role: role, Device: d.shown(now)}, nil
}

// useCode uses up the code in force and returns its role. The words are the same
// for a code that was never given and one that is no longer in force.
func (g *Gate) useCode(digits string, now time.Time) (Role, error) {
	g.mu.Lock()
	p := &g.pairing
	if p.live(now) && p.is(digits) {
		role := p.role
		*p = pairing{}
		g.mu.Unlock()
		return role, nil
	}
	renew := !p.live(now)
	if !renew {
		p.wrong++
		renew = p.wrong >= codeTries
	}
	role := p.role
	g.mu.Unlock()
	if renew {
		if !role.given() {
			role = Operator
		}
		g.code(true, role)
	}
	return None, refuse(http.StatusForbidden, "this is not the code that the board shows now; look at the board again: a code serves once, for ten minutes and five tries")
}

// code returns the code in force, or a new one: always if renew, else if there is none.
func (g *Gate) code(renew bool, role Role) Code {
	now := g.c.Now()
	g.mu.Lock()
	fresh := renew || !g.pairing.live(now)
	if fresh {
		g.pairing = newPairing(role, now)
	}
	code := g.pairing.code()
	g.mu.Unlock()
	if fresh && g.c.Announce != nil {
		g.c.Announce(code)
	}
	return code
}

// Code returns the code in force and makes one for an operator if there is none.
// It is for whoever is on the board itself. The error is an *Error.
func (g *Gate) Code(ctx context.Context) (Code, error) { return g.localCode(ctx, false, Operator) }

// NewCode replaces the code in force by one that gives a role. It is for whoever
// is on the board itself. The error is an *Error.
func (g *Gate) NewCode(ctx context.Context, role Role) (Code, error) {
	return g.localCode(ctx, true, role)
}

func (g *Gate) localCode(ctx context.Context, renew bool, role Role) (Code, error) {
	if !From(ctx).Local {
		return Code{}, refuse(http.StatusForbidden, "the code is shown only on the board itself; open the page there, at 127.0.0.1")
	}
	if !role.given() {
		return Code{}, badRole(role)
	}
	if g.locked != nil {
		return Code{}, refuse(http.StatusServiceUnavailable, "%v", g.locked)
	}
	return g.code(renew, role), nil
}

func badRole(role Role) *Error {
	return refuse(http.StatusBadRequest, "the role %s is not known; it is operator, viewer or helper", clip(string(role)))
}

// Devices lists the paired devices in the order of pairing, for operators. The
// error is an *Error.
func (g *Gate) Devices(ctx context.Context) ([]Device, error) {
	if err := operatorsOnly(ctx); err != nil {
		return nil, err
	}
	if g.locked != nil {
		return nil, refuse(http.StatusServiceUnavailable, "%v", g.locked)
	}
	now := g.c.Now()
	out := []Device{}
	for _, d := range g.devices.Load().list {
		out = append(out, d.shown(now))
	}
	return out, nil
}

// SetRole gives a device another role, for operators. A helper is shown nothing any
// more of what it had open. The error is an *Error; with status 500 a lower role holds
// already, but not beyond a restart.
func (g *Gate) SetRole(ctx context.Context, id string, role Role) (Device, error) {
	if !role.given() {
		return Device{}, badRole(role)
	}
	d, err := g.edit(ctx, id, func(list []*device, i int) []*device {
		as := *list[i]
		as.role = role
		if role == Helper { // what is open ends with the presence before
			as.presence = newPresence(time.Unix(as.seen.Load(), 0))
		}
		list[i] = &as
		return list
	}, role != Operator)
	if d != nil && role == Helper && d.role != Helper {
		d.revoke()
	}
	if err != nil {
		return Device{}, err
	}
	shown := d.shown(g.c.Now())
	shown.Role = role
	return shown, nil
}

// Revoke locks a device out and ends what it has open, for operators. The error is
// an *Error; with status 500 the device is out, but may be back after a restart.
func (g *Gate) Revoke(ctx context.Context, id string) error {
	d, err := g.edit(ctx, id, func(list []*device, i int) []*device { return slices.Delete(list, i, i+1) }, true)
	if d != nil {
		d.revoke()
	}
	return err
}

func operatorsOnly(ctx context.Context) error {
	switch From(ctx).Role {
	case Operator:
		return nil
	case Viewer, Helper:
		return refuse(http.StatusForbidden, "only an operator may see and change the paired devices")
	}
	return refuse(http.StatusUnauthorized, "this device is not paired with the board; open the board's page and type the code that the board shows")
}

func ending() *Error {
	return refuse(http.StatusServiceUnavailable, "the daemon is ending; try again when it runs")
}

// add keeps a new device. It is let in only when that is on the disk.
func (g *Gate) add(d *device) error {
	g.change.Lock()
	defer g.change.Unlock()
	if g.closed {
		return ending()
	}
	list := g.devices.Load().list
	if len(list) >= maxDevices {
		return refuse(http.StatusConflict, "%d devices are paired, which is the most; revoke one that is not used any more", maxDevices)
	}
	list = append(slices.Clone(list), d)
	if err := g.save(list); err != nil {
		g.log.Error("keeping a new device failed", "error", err)
		return refuse(http.StatusInternalServerError, "the device could not be kept on the disk; the log of the daemon says why")
	}
	g.devices.Store(newDevices(list))
	return nil
}

// edit changes device id of the list and returns it as it was; nil if it is not
// changed. A change that takes something away holds even if the disk fails.
func (g *Gate) edit(ctx context.Context, id string, change func(list []*device, i int) []*device, takesAway bool) (*device, error) {
	if err := operatorsOnly(ctx); err != nil {
		return nil, err
	}
	if g.locked != nil {
		return nil, refuse(http.StatusServiceUnavailable, "%v", g.locked)
	}
	g.change.Lock()
	defer g.change.Unlock()
	if g.closed {
		return nil, ending()
	}
	list := g.devices.Load().list
	i := slices.IndexFunc(list, func(d *device) bool { return d.id == id })
	if i < 0 {
		return nil, refuse(http.StatusNotFound, "no device %s is paired", clip(id))
	}
	was := list[i]
	list = change(slices.Clone(list), i)
	if takesAway {
		g.devices.Store(newDevices(list))
	}
	if err := g.save(list); err != nil {
		g.log.Error("keeping a change of the paired devices failed", "error", err)
		err := refuse(http.StatusInternalServerError, "the change could not be kept on the disk; the log of the daemon says why")
		if !takesAway {
			return nil, err
		}
		err.Text += "; it holds until the daemon starts again"
		return was, err
	}
	g.devices.Store(newDevices(list))
	g.log.Info("the paired devices were changed", "device", id)
	return was, nil
}

// AsError finds the refusal in an error, or makes one with status 500 of it.
func AsError(err error) *Error {
	var e *Error
	if errors.As(err, &e) {
		return e
	}
	return refuse(http.StatusInternalServerError, "%v", err)
}
