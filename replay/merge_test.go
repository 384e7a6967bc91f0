package replay

import (
	"errors"
	"io"
	"strings"
	"testing"
)

// A receiver's and a controller's recording of their own give what one recording of
// both gives, in whichever order they are named.
func TestMerge(t *testing.T) {
	t.Parallel()
	tp := newTape()
	tp.pass(0, 20, 0, on)
	var gnss, controller strings.Builder
	for line := range strings.Lines(tp.String()) {
		if strings.Contains(line, " gnss ") {
			gnss.WriteString(line)
		} else {
			controller.WriteString(line)
		}
	}
	both := func(a, b string) string {
		m := Merge(NewCaptureReader(strings.NewReader(a), "a"), NewCaptureReader(strings.NewReader(b), "b"))
		var out []byte
		for {
			e, err := m.Next()
			if errors.Is(err, io.EOF) {
				return string(out)
			}
			if err != nil {
				t.Fatal(err)
			}
			out = AppendCapture(out, e)
		}
	}
	_, want := run(t, drill(), tp.String())
	for _, text := range []string{both(gnss.String(), controller.String()), both(controller.String(), gnss.String())} {
		_, got := run(t, drill(), text)
		near(t, "gross", got.Operations[0].Area.GrossM2, want.Operations[0].Area.GrossM2, 0.001)
		near(t, "applied", *got.Operations[0].Products[0].Applied, *want.Operations[0].Products[0].Applied, 1e-6)
		if got.GNSS != want.GNSS || got.Controller != want.Controller {
			t.Errorf("got %+v %+v, want %+v %+v", got.GNSS, got.Controller, want.GNSS, want.Controller)
		}
	}
}

// Damage in one of them is told once, and the rest of both is read.
func TestMergeDamage(t *testing.T) {
	t.Parallel()
	a := "2026-05-14T13:05:10.000Z gnss $A\nnonsense\n2026-05-14T13:05:12.000Z gnss $B\n"
	b := "2026-05-14T13:05:11.000Z controller work=1\n"
	m := Merge(NewCaptureReader(strings.NewReader(a), "a"), NewCaptureReader(strings.NewReader(b), "b"))
	got, damaged := "", 0
	for {
		e, err := m.Next()
		var corrupt *CorruptError
		if errors.As(err, &corrupt) {
			damaged++
			continue
		}
		if errors.Is(err, io.EOF) {
			break
		}
		got += string(e.Line) + ";"
	}
	if got != "$A;work=1;$B;" || damaged != 1 {
		t.Errorf("got %s, %d damaged places; want $A;work=1;$B; and one", got, damaged)
	}
}

// One recording after the other, the damage of each told where it is.
func TestChain(t *testing.T) {
	t.Parallel()
	a := "2026-05-14T13:05:10.000Z gnss $A\nnonsense\n"
	b := "2026-05-14T13:05:09.000Z controller work=1\n"
	c := Chain(NewCaptureReader(strings.NewReader(a), "a"), NewCaptureReader(strings.NewReader(""), "none"), NewCaptureReader(strings.NewReader(b), "b"))
	got := ""
	for {
		e, err := c.Next()
		var corrupt *CorruptError
		if errors.As(err, &corrupt) {
			got += "damage in " + corrupt.File + ";"
			continue
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		got += string(e.Line) + ";"
	}
	if want := "$A;damage in a;work=1;"; got != want {
		t.Errorf("got %s want %s", got, want)
	}
	if _, err := c.Next(); !errors.Is(err, io.EOF) {
		t.Errorf("after the end: got %v, want the end again", err)
	}
}
