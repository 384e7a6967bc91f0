package archtest

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"drawbar/internal/testkit"
)

// In the compiler's listing a function opens with "name STEXT" and an
// instruction reads "0x0088 00136 (file:58)<tab>FMSUBD<tab>F3, F5, F6, F5".
var (
	listingFunc  = regexp.MustCompile(`^(\S+) STEXT `)
	listingFused = regexp.MustCompile(`\((\S+:\d+)\)\s+(FN?M(?:ADD|SUB)[SD])\b`)
)

// findFused compiles packages for arm64 and lists every fused multiply-add. The
// compiler fuses there what amd64 rounds twice, so that each is a result that
// differs between the two. flags is the package pattern whose code is listed,
// for a build does not show that of its dependencies.
func findFused(dir, listed string, patterns ...string) (found []string, functions int, err error) {
	cmd := exec.Command("go", append([]string{"build", "-trimpath", "-gcflags=" + listed + "=-S"}, patterns...)...)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "GOOS=linux", "GOARCH=arm64", "CGO_ENABLED=0", "GOFLAGS=", "GOWORK=off")
	var listing bytes.Buffer
	cmd.Stdout, cmd.Stderr = &listing, &listing
	if err := cmd.Run(); err != nil {
		return nil, 0, fmt.Errorf("compile %v for arm64: %w:\n%s", patterns, err, firstLines(listing.String(), 20))
	}
	function := ""
	for line := range strings.Lines(listing.String()) {
		if m := listingFunc.FindStringSubmatch(line); m != nil {
			function = m[1]
			functions++
		} else if m := listingFused.FindStringSubmatch(line); m != nil {
			found = append(found, fmt.Sprintf("%s in %s at %s", m[2], function, m[1]))
		}
	}
	return found, functions, nil
}

func firstLines(s string, n int) string {
	lines := strings.SplitN(s, "\n", n+1)
	return strings.Join(lines[:min(n, len(lines))], "\n")
}

func TestNoFusedMultiplyAdd(t *testing.T) {
	t.Parallel()
	found, functions, err := findFused(testkit.ModuleRoot(t), "drawbar/...", domain...)
	if err != nil {
		t.Fatal(err)
	}
	if functions < 100 {
		t.Fatalf("the compiler's listing holds %d functions: the core was not listed", functions)
	}
	for _, f := range found {
		t.Errorf("fused multiply-add: %s: write the product as float64(x*y), a half as float64(x/2), before adding", f)
	}
	t.Logf("%d functions listed", functions)
}

func TestFindFused(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	write := func(name, text string) {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("go.mod", "module example\n\ngo 1.26.0\n")
	write("bad.go", `package example

func Fused(x, y, z float64) float64 { return x*y + z }

func Single(x, y, z float32) float32 { return z - x*y }

func Apart(x, y, z float64) float64 { return float64(x*y) + z }

func product(x, y float64) float64 { return x * y }

func Inlined(x, y, z float64) float64 { return product(x, y) - z }
`)
	found, _, err := findFused(dir, "example", ".")
	if err != nil {
		t.Fatal(err)
	}
	got := strings.Join(found, "\n")
	for _, want := range []string{"in example.Fused at", "in example.Single at", "in example.Inlined at"} {
		if !strings.Contains(got, want) {
			t.Errorf("bad example: got %q, want a finding %q", got, want)
		}
	}
	if strings.Contains(got, "Apart") || len(found) != 3 {
		t.Errorf("bad example: got %q, want three findings, none in Apart", got)
	}
}
