package ground

import "unsafe"

// againPitch: ground covered at least twice is kept on every third scanline
// only (15 cm). Every join of two passes leaves a strip of it all along the
// field, ten million spans on 1,000 ha; areas do not need it (overlap is gross
// minus covered), only the outline does.
const againPitch = 3

// pageRows is the height of a page, a multiple of againPitch.
const pageRows = 192

const pageAgain = pageRows / againPitch

// page holds a stack of neighbouring scanlines. Rows are only there where a
// page is, so two pieces far apart cost nothing for the ground between them.
type page struct {
	owner   *owner // the one Set that may change it
	covered [pageRows]runs
	twice   [Causes]*strip // at least twice, by cause; nil where there is none
}

// strip is ground covered at least twice on rows 0, 3, 6 … of a page. No place
// is in the strips of two causes.
type strip [pageAgain]runs

// owner marks a page as a Set's own. It must not be of size zero: pointers to
// such things need not differ.
type owner struct{ _ byte }

// firstSpans is the room every row has from the start, cut out of one piece of
// memory a page.
const firstSpans = 2

const pageBytes = int(unsafe.Sizeof(page{}))

func newPage(o *owner) *page {
	p := &page{owner: o}
	room := make([]span, pageRows*firstSpans)
	for i := range p.covered {
		p.covered[i].s = room[i*firstSpans : i*firstSpans : (i+1)*firstSpans]
	}
	return p
}

// copyFor is the page's copy for another owner.
func (p *page) copyFor(o *owner) *page {
	n := 0
	p.each(func(r *runs) { n += max(len(r.s), firstSpans) })
	c := *p
	c.owner = o
	for i, t := range p.twice {
		if t != nil {
			own := *t
			c.twice[i] = &own
		}
	}
	room := make([]span, n)
	c.each(func(r *runs) {
		size := max(len(r.s), firstSpans)
		own := room[:copy(room, r.s):size]
		r.s, room = own, room[size:]
	})
	return &c
}

func (p *page) each(do func(*runs)) {
	for i := range p.covered {
		do(&p.covered[i])
	}
	for _, t := range p.twice {
		if t != nil {
			for i := range t {
				do(&t[i])
			}
		}
	}
}

func (p *page) bytes() int {
	n := pageBytes
	for _, t := range p.twice {
		if t != nil {
			n += int(unsafe.Sizeof(*t))
		}
	}
	p.each(func(r *runs) { n += cap(r.s) * spanBytes })
	return n
}
