// Package ground knows which ground is covered, once and at least twice, exactly
// and in whatever order it was covered.
//
//	s := ground.New()
//	newA, again := s.Add(quad)         // what one sweep of the bar added
//	covered, gross := s.Covered(), s.Gross()
//	shape := s.Outline(1)              // polygons for a file or a screen
//
// # How
//
// The plane is cut into scanlines 5 cm apart. Each holds a sorted list of
// disjoint half-open intervals on the 0.1 mm grid. A quad is, on every scanline
// it crosses, one interval (two where it is folded or concave): the part that is
// not in the list yet is new ground, the rest is overlap, then it is merged in.
// An area is the sum of lengths times 5 cm.
//
//	row 2   [======================)        [=====)
//	row 1   [=======================)      [=====)
//	row 0   [========================)    [=====)
//	            covered          ^ frontier  ^ another pass
//
// All of it is integer arithmetic with one rounding rule (edge), so order of
// adding, machine and compiler do not matter: for a fixed frame the same quads
// in any order leave the same set. Neighbouring quads share a side, so they share
// its crossings: neither a gap nor a false overlap can come between them.
// Splitting a quad along its way moves crossings by the rounding of the new
// corners only.
//
// # Invariants
//
//   - Gross - Covered is the overlap, exactly, in the scanlines' own units; it is
//     the sum of what Add called again, as Covered is of what it called new, as
//     long as the frame is not turned (see below).
//   - Spans of a row are in order and neither overlap nor touch.
//   - Ground covered at least twice is kept on every third scanline only
//     (againPitch); areas do not need it. It is kept by cause (Cause), every place
//     under one, as told after the fact by whoever adds (AddWaiting, Settle).
//   - A page of rows is changed only by the Set that owns it; others copy it
//     first (Clone).
//
// # The frame
//
// Scanlines must not run along the passes. Measured on passes of 12 m that
// overlap by 2 cm to 3 m, no steering noise, overlap against the closed form, in
// millionths of gross, worst of six spacings (go test -v -run ScanlineAngle):
//
//	angle of the passes to the scanlines   0    0.1   0.3   1    2    3    4    6 … 86   88   90
//	overlap off by up to, ppm            208    19    8.5   1.8  2.1  4.7  4.5  1.1      6.7  0.04
//
// 45 degrees is as good as any other. Near 90 degrees it is the bars, at the ends
// of passes, that run along the scanlines. So the scanlines are laid 78 degrees
// off the first quad's travel: 12 off its bars, few rows a quad (67 for 18 m by
// 0.25 m; 157 at 65 degrees), and thin strips of overlap still follow from row to
// row. The first 32,768 quads are kept; after 500, 2,000, 8,192 and 32,768 of
// them the directions are weighed by area in sectors of 3 degrees, and if
// scanlines elsewhere would have 8 % less of the work within two sectors
// (6 degrees and what a sector is wide) of them, the set is painted again from
// what was kept. Then Covered and Gross may change by rounding, below 20 ppm of
// gross.
//
// # Measured
//
// Two-core x86-64 board, Go 1.26, 2 cm steering noise, 18 m passes every 17.1 m,
// a quad every 0.25 m (go test -run xxx -bench .):
//
//	one merged quad 18 m x 0.25 m        p50 0.9 us, p99 1.5 us
//	72 quads of half a metre, unmerged   p50 12 us, p99 17 us
//	65 ha                                0.15 s, 3.3 MB, 1,000 ns a quad
//	1,000 ha (2.3 million quads)         2.2 s, 36 MB, 940 ns a quad
//	outline of 65 ha with switching      0.1 s covered, 0.05 s covered twice
//	GEOS 3.11 union of the same quads    12 times as long merged, 115 times unmerged
//
// Against GEOS, over 35 made-up fields with folds, curves, noise and switching
// (go test -v -run FieldsAgainstGEOS): covered within 4 ppm and overlap within
// 8 ppm of gross, typically 0.3; outlines valid, their area within 50 ppm.
//
// # Skips
//
// A Skips finds the uncovered ground that is too narrow for a pass, on the same
// scanlines (see there). Measured as above, 36 m in 12 sections, gaps here and
// there, with a boundary (go test -run xxx -bench Skips .):
//
//	65 ha from scratch                       19 ms
//	a second of work, 20 fixes, 4.2 m        mean 0.23 ms, p99 0.37 ms
//	the same, 1 m, 18 m wide                 p99 0.27 ms, 0.63 ms
//	the same, 4.2 m, without a boundary      p99 0.77 ms
//	1,000 ha                                 4.9 MB beside the ground's 23 MB
//	GEOS 3.11, difference and buffers alone  twice as long, 17 times with its union
//
// Against GEOS's buffers on 14 made-up fields (go test -v -run SkipsAgainstGEOS):
// the same parts, their area within 0.5 %, typically 0.1 %.
//
// # What it does not know
//
// Where the earth is (package plane), which section or product a quad belongs to,
// and time.
package ground
