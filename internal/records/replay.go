package records

import (
	"context"
	"fmt"
	"runtime/debug"
	"time"

	"github.com/klauspost/compress/zstd"

	"drawbar/coverage"
	"drawbar/internal/recorded"
	"drawbar/internal/store"
	"drawbar/replay"
)

// checkEvery is after how many lines the worker looks whether it is to stop, and
// rests: some milliseconds of work.
const checkEvery = 2048

// pace rests between pieces of work.
type pace struct{ rest float64 }

// pace is that of the worker; what was asked for is worked out without a rest.
func (w *worker) pace(asked bool) pace {
	if asked {
		return pace{}
	}
	return pace{w.x.c.Rest}
}

// after rests for what was worked since a moment.
func (p pace) after(ctx context.Context, since time.Time) {
	if p.rest <= 0 {
		return
	}
	timer := time.NewTimer(time.Duration(float64(time.Since(since)) * p.rest))
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-ctx.Done():
	}
}

// played is a session that was replayed to its end.
type played struct {
	session   *replay.Session
	warnings  []string
	corrected int
}

// replayed replays the files of a session as they were recorded and corrected. g
// gathers its ground; it may be nil.
func replayed(ctx context.Context, f *store.Files, p pace, g *coverage.Gathering, share func(float64)) (out played, err error) {
	var read int64
	size := f.Bytes()
	names := make([]string, len(f.Parts))
	for i, part := range f.Parts {
		names[i] = part.Path
	}
	in, err := recorded.Open(names, recorded.Options{
		Whole: true, Halt: ctx.Err,
		Read: func(n int) { read += int64(n) },
	})
	if err != nil {
		return out, err
	}
	defer in.Close()
	_, setup, err := in.Setup(nil)
	if err != nil {
		return out, err
	}
	out.corrected = len(setup.Coverage.Corrections)
	if g != nil {
		setup.Coverage.OnGround = g.Add
	}
	since := time.Now()
	out.session, err = in.Replay(setup, checkEvery, func() error {
		share(min(1, float64(read)/float64(max(size, 1))))
		p.after(ctx, since)
		since = time.Now()
		return ctx.Err()
	})
	if err == nil {
		_, err = in.Damage() // of which nothing can be read
	}
	if err != nil {
		return out, err
	}
	out.warnings = append(out.session.Summary().Warnings, in.Warnings()...)
	return out, nil
}

// replaySession works out a session. What goes wrong is in the result.
func replaySession(ctx context.Context, f *store.Files, p pace, packer *zstd.Encoder, share func(float64)) *result {
	r := &result{name: f.Session}
	err := guarded(func() error {
		out, err := replayed(ctx, f, p, nil, share)
		if err != nil {
			return err
		}
		r.Warnings, r.Corrected = out.warnings, out.corrected
		records := out.session.Records()
		for i, op := range out.session.Operations() {
			if !op.Worked() || i >= len(records) {
				continue
			}
			o := operationOf(f.Session, records[i], op)
			shape := shapeOf(op)
			r.Operations = append(r.Operations, o)
			r.ground = append(r.ground, groundShape{o.Number, shape.packed(o.Ref(), packer)})
			if ctx.Err() != nil {
				return ctx.Err()
			}
		}
		return nil
	})
	if err != nil {
		r.failed, r.Operations, r.ground = err.Error(), nil, nil
	}
	return r
}

// guarded keeps a fault of the program in one session from ending the record of the
// one that is running.
func guarded(do func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("a fault of the program: %v\n%s", p, debug.Stack())
		}
	}()
	return do()
}

// operationOf is the record of an operation of a session.
func operationOf(session string, r replay.OperationRecord, op *coverage.Operation) Operation {
	o := Operation{OperationRecord: r, Session: session, FieldS: r.End.Sub(r.Start).Seconds()}
	o.Skips = nil // they hold on to the ground
	sums := op.ProductSums()
	for i := range sums {
		o.Sums = append(o.Sums, sumOf(&sums[i]))
	}
	return o
}

// sumOf is a product's sum as it is kept.
func sumOf(p *coverage.ProductSum) Sum {
	s := Sum{Name: p.Name, Unit: p.Unit.AmountUnit(), Tanks: p.Tanks, AreaM2: rounded(p.Gross.M2()), RatedM2: rounded(p.RatedM2())}
	if applied, ok := p.Applied(); ok {
		applied = float64(steps(applied, perAmount)) / perAmount
		s.Applied = &applied
	}
	if target, ok := p.MeanTargetPerM2(); ok {
		s.Target = &target
	}
	return s
}

// MeanRate is the amount over the ground on which the rate was known, per m2.
func (s *Sum) MeanRate() *float64 {
	if s.Applied == nil || !(s.RatedM2 > 0) {
		return nil
	}
	rate := *s.Applied / s.RatedM2
	return &rate
}

// figures is the sum in the form of a session's products; of several tanks it has
// none.
func (s *Sum) figures() replay.ProductFigures {
	p := replay.ProductFigures{Name: s.Name, Unit: s.Unit, Applied: s.Applied, AreaM2: s.AreaM2, MeanRate: s.MeanRate(), MeanTarget: s.Target}
	if len(s.Tanks) == 1 {
		p.Tank = s.Tanks[0]
	}
	return p
}

// rounded is an area to 1/1000 m2.
func rounded(m2 float64) float64 { return float64(steps(m2, perM2)) / perM2 }

func maybe(m2 float64, ok bool) *float64 {
	if !ok {
		return nil
	}
	m2 = rounded(m2)
	return &m2
}

func stamp(t time.Time) *string {
	if t.IsZero() {
		return nil
	}
	s := t.UTC().Format("2006-01-02T15:04:05.000Z")
	return &s
}
