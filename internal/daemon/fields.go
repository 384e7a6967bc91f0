package daemon

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"drawbar/coverage"
	"drawbar/internal/boundary"
	"drawbar/internal/live"
	"drawbar/internal/server"
	"drawbar/replay"
	"drawbar/replay/statement"
)

// ErrUnknownField is wrapped where a field is named that is not among those known.
var ErrUnknownField = errors.New("no field of that name is known")

// Accept moves the work to a known field, from now on.
func (c *core) Accept(ctx context.Context, name string) error {
	for _, f := range c.Known() {
		if f.Name == name {
			return c.sayOf(ctx, statement.Operator{Field: &f.Name, Boundary: f.Outline, HasBoundary: true})
		}
	}
	return fmt.Errorf("%w: %q; add it to the catalogue with its outline, or state its name alone", ErrUnknownField, name)
}

// Decline says that the field which is offered is not wanted.
func (c *core) Decline(ctx context.Context, name string) error {
	return c.Do(ctx, func() {
		if l := c.board.place.locator; l != nil {
			l.Decline(name)
		}
	})
}

// Known are the known fields.
func (c *core) Known() []boundary.Field { return c.known.all() }

func (c *core) sayOf(ctx context.Context, op statement.Operator) error {
	line, err := json.Marshal(op)
	if err != nil {
		return fmt.Errorf("write the operator line: %w", err)
	}
	_, err = c.Say(ctx, line)
	return err
}

// Acknowledge notes that the operator has seen an alarm that stands.
func (c *core) Acknowledge(ctx context.Context, kind live.Alarm, subject string) (ok bool, err error) {
	err = c.Do(ctx, func() { ok = c.board.watch.Acknowledge(kind, subject) })
	return ok, err
}

// OutlineOfWork is the outline of the ground that the operation in hand covered.
func (c *core) OutlineOfWork(ctx context.Context) (out replay.Outline, err error) {
	if e := c.Do(ctx, func() { out, err = c.session.OutlineOfWork() }); e != nil {
		return nil, e
	}
	return out, err
}

// drive is what the daemon remembers of it.
type drive struct {
	edge    coverage.Edge
	offsetM float64
	outline replay.Outline
}

// StartDrive begins a boundary that is driven.
func (c *core) StartDrive(ctx context.Context, edge coverage.Edge, offsetM float64) (err error) {
	if e := c.Do(ctx, func() {
		if err = c.session.StartDriving(edge, offsetM); err == nil {
			c.drive = drive{edge: edge, offsetM: offsetM}
		}
	}); e != nil {
		return e
	}
	return err
}

// StopDrive ends it; the outline waits for the operator to accept it. Where there
// is none the error says why, and the drive goes on.
func (c *core) StopDrive(ctx context.Context) (err error) {
	if e := c.Do(ctx, func() { c.drive.outline, err = c.session.StopDriving() }); e != nil {
		return e
	}
	return err
}

// DropDrive forgets it.
func (c *core) DropDrive(ctx context.Context) error {
	return c.Do(ctx, func() {
		c.session.DropDriving()
		c.drive = drive{}
	})
}

// Driving tells how it stands.
func (c *core) Driving(ctx context.Context) (out server.Drive, err error) {
	err = c.Do(ctx, func() {
		out = server.Drive{Edge: c.drive.edge, OffsetM: c.drive.offsetM, Outline: c.drive.outline}
		out.Driven, out.Driving = c.session.Driving()
		out.Path = c.session.DrivenPath(0)
	})
	return out, err
}
