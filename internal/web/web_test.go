package web

import (
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"
)

func TestIndexIsThere(t *testing.T) {
	t.Parallel()
	body, err := fs.ReadFile(Files(), "index.html")
	if err != nil {
		t.Fatalf("read index.html: %v", err)
	}
	if want := "<!doctype html>"; !strings.HasPrefix(strings.ToLower(string(body)), want) {
		t.Errorf("index.html begins %.40q, want %q", body, want)
	}
	if !Built() && !strings.Contains(string(body), "make web") {
		t.Errorf("the placeholder does not say how to build the page: %s", body)
	}
}

func TestPlaceholderStandsIn(t *testing.T) {
	t.Parallel()
	read := func(files fstest.MapFS, name string) string {
		body, err := fs.ReadFile(page{files}, name)
		if err != nil {
			return err.Error()
		}
		return string(body)
	}
	unbuilt := fstest.MapFS{placeholder: {Data: []byte("how to build")}}
	if got, want := read(unbuilt, index), "how to build"; got != want {
		t.Errorf("index.html where nothing was built: %q, want %q", got, want)
	}
	built := fstest.MapFS{placeholder: {Data: []byte("how to build")}, index: {Data: []byte("the page")}}
	if got, want := read(built, index), "the page"; got != want {
		t.Errorf("index.html of a built page: %q, want %q", got, want)
	}
	if _, err := fs.Stat(page{unbuilt}, "sw.js"); err == nil {
		t.Error("sw.js is there although nothing was built")
	}
}

// TestNothingFromElsewhere looks for addresses of other machines that the built
// page could load from: the cab has no internet.
func TestNothingFromElsewhere(t *testing.T) {
	t.Parallel()
	body, err := fs.ReadFile(Files(), "index.html")
	if err != nil {
		t.Fatalf("read index.html: %v", err)
	}
	for _, attribute := range []string{`src="http`, `href="http`, `src="//`, `href="//`} {
		if strings.Contains(string(body), attribute) {
			t.Errorf("index.html loads from elsewhere: it has %s", attribute)
		}
	}
}
