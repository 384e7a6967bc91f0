package records

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"drawbar/coverage"
	"drawbar/internal/store"
	"drawbar/replay"
)

const joinPrefix = "join "

// joinDigest is the digest in the name of a result, where it is of a join.
func joinDigest(name string) (string, bool) { return strings.CutPrefix(name, joinPrefix) }

// resolve finds what a join joins and what was worked out of it. used are the
// operations of earlier joins, by their lines. x.mu is held.
func (w *worker) resolve(j *Join, used map[Ref]int) {
	if !j.Acts() {
		return
	}
	digest, parts, err := w.x.partsOf(j)
	for i := range parts {
		if by := used[parts[i].Ref()]; by != 0 && err == nil {
			err = fmt.Errorf("operation %s is joined by line %d already: take one of the two back", parts[i].Ref(), by)
		}
	}
	for i := range parts {
		if err == nil {
			used[parts[i].Ref()] = j.Number
		}
	}
	if err != nil {
		j.State, j.Err = Failed, err.Error()
		if w.x.waitsFor(j) {
			j.State, j.Err = Working, ""
		}
		return
	}
	j.State, j.result = Working, joinPrefix+digest
	r := w.x.joined[digest]
	switch {
	case r == nil:
	case r.failed != "":
		j.State, j.Err = Failed, r.failed
	default:
		j.State, j.made, j.Ref = Current, &r.Operations[0], parts[0].Ref()
	}
}

// waitsFor tells whether a session of a join is still to be worked out.
func (x *Index) waitsFor(j *Join) bool {
	for _, m := range j.Join.Join {
		if e := x.entries[m.Session]; e != nil && e.stale() {
			return true
		}
	}
	return false
}

// partsOf are the operations that a join means, in order of their start, and a digest
// of all that they follow from.
func (x *Index) partsOf(j *Join) (digest string, parts []Operation, err error) {
	for _, m := range j.Join.Join {
		o, err := x.partAt(m)
		if err != nil {
			return "", nil, err
		}
		parts = append(parts, *o)
	}
	slices.SortStableFunc(parts, func(a, b Operation) int {
		return cmp.Or(a.OperationRecord.Start.Compare(b.OperationRecord.Start), cmp.Compare(a.Session, b.Session), cmp.Compare(a.Number, b.Number))
	})
	h := sha256.New()
	for i := range parts {
		if i > 0 && parts[i].Ref() == parts[i-1].Ref() {
			return "", nil, fmt.Errorf("operation %s is named twice", parts[i].Ref())
		}
		fmt.Fprintf(h, "%q %s\n", parts[i].Ref().String(), x.entries[parts[i].Session].result.digest)
	}
	return hex.EncodeToString(h.Sum(nil)[:12]), parts, nil
}

// nextJoin is a join that is due.
func (w *worker) nextJoin() *Join {
	joins := w.x.view.Load().joins
	for i := range joins {
		if joins[i].State == Working && joins[i].result != "" {
			return &joins[i]
		}
	}
	return nil
}

// join works one out: the sessions are replayed once more for where the ground is.
func (w *worker) join(ctx context.Context, j *Join) {
	x := w.x
	x.mu.Lock()
	digest, parts, err := x.partsOf(j)
	files := map[string]store.Files{}
	for _, p := range parts {
		files[p.Session] = x.entries[p.Session].files
	}
	x.mu.Unlock()
	if err != nil {
		w.dirty = true
		return
	}
	r := &result{name: joinPrefix + digest, digest: digest}
	err = guarded(func() error {
		made, shape, err := w.joinParts(ctx, parts, files)
		if err != nil {
			return err
		}
		made.Join = j.Number
		r.Operations = []Operation{made}
		r.ground = []groundShape{{made.Number, shape.packed(made.Ref(), x.packer)}}
		return nil
	})
	if ctx.Err() != nil {
		return
	}
	if err != nil {
		r.failed = err.Error()
	}
	w.keep(ctx, r)
	r.ground = nil
	x.mu.Lock()
	x.joined[digest] = r
	x.mu.Unlock()
	w.publish()
}

// joinParts lays all parts on one ground.
func (w *worker) joinParts(ctx context.Context, parts []Operation, files map[string]store.Files) (made Operation, shape shaped, err error) {
	laid := map[Ref]coverage.Part{}
	for _, p := range parts {
		if _, done := laid[p.Ref()]; done {
			continue
		}
		var g coverage.Gathering
		f := files[p.Session]
		in, err := replayed(ctx, &f, w.pace(true), &g, func(float64) {})
		if err != nil {
			return made, shape, fmt.Errorf("session %s: %w", p.Session, err)
		}
		ops := in.session.Operations()
		for _, q := range parts {
			if q.Session != p.Session {
				continue
			}
			if q.Number < 1 || q.Number > len(ops) {
				return made, shape, fmt.Errorf("session %s has no operation %d any more", q.Session, q.Number)
			}
			laid[q.Ref()] = g.Part(q.Session, ops[q.Number-1])
		}
	}
	list := make([]coverage.Part, 0, len(parts))
	for _, p := range parts {
		list = append(list, laid[p.Ref()])
	}
	j, err := coverage.Join(list, nil)
	if err != nil {
		return made, shape, err
	}
	return joinedOperation(parts, j), shapeOfJoint(j), nil
}

// joinedOperation is the record of several: areas and products of the Joint, the rest
// as the parts say.
func joinedOperation(parts []Operation, j *coverage.Joint) Operation {
	first := parts[0]
	o := Operation{Session: first.Session, Parts: parts}
	o.Number = first.Number
	o.Field, o.OperationFigures.Operation = j.Field, j.Name
	o.OperationRecord.Start, o.OperationRecord.End = j.Start, j.End
	o.OperationFigures.Start, o.OperationFigures.End = stamp(j.Start), stamp(j.End)
	o.Area = replay.AreaFigures{GrossM2: rounded(j.Gross().M2()), CoveredM2: rounded(j.Covered().M2()), OverlapM2: rounded(j.Overlap().M2())}
	o.Area.FieldM2 = maybe(j.FieldAreaM2())
	o.Area.OutsideM2 = maybe(j.OutsideM2())
	o.Area.SkipM2 = maybe(j.SkipM2())
	o.Area.RemainingM2 = maybe(j.RemainingM2())
	for i := range j.Products {
		o.Sums = append(o.Sums, sumOf(&j.Products[i]))
	}
	o.Products = []replay.ProductFigures{}
	for _, s := range o.Sums {
		o.Products = append(o.Products, s.figures())
	}
	var people []string
	for i := range parts {
		p := &parts[i]
		o.FieldS += p.FieldS
		o.WorkingS += p.WorkingS
		o.DistanceM += p.DistanceM
		o.OverlapBy.HeadlandM2 += p.OverlapBy.HeadlandM2
		o.OverlapBy.BetweenPassesM2 += p.OverlapBy.BetweenPassesM2
		o.OverlapBy.SectionsM2 += p.OverlapBy.SectionsM2
		o.Refills, o.Weather = append(o.Refills, p.Refills...), append(o.Weather, p.Weather...)
		o.Notes, o.Weighed = append(o.Notes, p.Notes...), append(o.Weighed, p.Weighed...)
		if p.Crop != "" {
			o.Crop = p.Crop
		}
		if p.HasGrowthStage {
			o.GrowthStage, o.HasGrowthStage = p.GrowthStage, true
		}
		if i == 0 || p.Implement.Name == o.Implement.Name {
			o.Implement = p.Implement
		}
		o.bound(p)
		o.mergePeople(p, &people)
	}
	return o
}

// bound widens the box by that of a part.
func (o *Operation) bound(p *Operation) {
	switch {
	case !p.HasBounds:
	case !o.HasBounds:
		o.Bounds, o.HasBounds = p.Bounds, true
	default:
		b := &o.Bounds
		*b = [4]float64{min(b[0], p.Bounds[0]), min(b[1], p.Bounds[1]), max(b[2], p.Bounds[2]), max(b[3], p.Bounds[3])}
	}
}

// mergePeople adds what the people of a part did.
func (o *Operation) mergePeople(p *Operation, names *[]string) {
	for _, person := range p.People {
		at := slices.Index(*names, person.Name)
		if at < 0 {
			at = len(*names)
			*names = append(*names, person.Name)
			o.People = append(o.People, replay.PersonFigures{Name: person.Name})
		}
		to := &o.People[at]
		to.GrossM2 += person.GrossM2
		to.WorkingS += person.WorkingS
		to.DistanceM += person.DistanceM
		for _, share := range person.Products {
			if share.Product < 0 || share.Product >= len(p.Products) {
				continue
			}
			of := p.Products[share.Product]
			share.Product = slices.IndexFunc(o.Products, func(q replay.ProductFigures) bool { return q.Name == of.Name && q.Unit == of.Unit })
			to.Products = append(to.Products, share)
		}
	}
}
