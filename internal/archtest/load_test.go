package archtest

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
)

// domain are the patterns of the pure core.
var domain = []string{"./nmea/...", "./controller/...", "./coverage/...", "./replay/..."}

// source is one package of the core, read and type-checked without its tests.
type source struct {
	path  string // below the module, such as coverage/plane
	root  string // the module's folder
	fset  *token.FileSet
	files []*ast.File
	info  *types.Info
}

// finding is one breach of a rule.
type finding struct {
	path string // package
	key  string // what an exception names: an imported path, a function, a field
	text string // for people
}

func (s *source) found(pos token.Pos, key, format string, args ...any) finding {
	at := s.fset.Position(pos)
	name := at.Filename
	if rel, err := filepath.Rel(s.root, name); err == nil {
		name = rel
	}
	return finding{s.path, key, fmt.Sprintf("%s:%d: ", name, at.Line) + fmt.Sprintf(format, args...)}
}

// listed is what the go command says of a package.
type listed struct {
	ImportPath, Dir, Export string
	GoFiles                 []string
	DepOnly                 bool
}

// world is the core and what it takes to type-check more.
type world struct {
	root string
	fset *token.FileSet
	core []*source

	mu      sync.Mutex // an importer serves one at a time
	imports types.Importer
}

// load reads the core once for all tests.
var load = sync.OnceValues(func() (*world, error) {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}").Output()
	if err != nil {
		return nil, fmt.Errorf("find the module's folder: %w", err)
	}
	w := &world{root: strings.TrimSpace(string(out)), fset: token.NewFileSet()}
	// The packages at the end are there for the bad examples.
	packages, err := goList(w.root, append(slices.Clone(domain), "maps", "sync", "os", "math/rand/v2")...)
	if err != nil {
		return nil, err
	}
	w.imports = exported(w.fset, packages)
	for _, p := range packages {
		path, ours := strings.CutPrefix(p.ImportPath, "drawbar/")
		if p.DepOnly || !ours || len(p.GoFiles) == 0 {
			continue
		}
		s := &source{path: path, root: w.root, fset: w.fset}
		for _, name := range p.GoFiles {
			f, err := parser.ParseFile(w.fset, filepath.Join(p.Dir, name), nil, parser.ParseComments|parser.SkipObjectResolution)
			if err != nil {
				return nil, err
			}
			s.files = append(s.files, f)
		}
		if err := s.check(w.imports); err != nil {
			return nil, err
		}
		w.core = append(w.core, s)
	}
	return w, nil
})

func (s *source) check(imports types.Importer) error {
	s.info = &types.Info{Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{}, Types: map[ast.Expr]types.TypeAndValue{}}
	_, err := (&types.Config{Importer: imports}).Check("drawbar/"+s.path, s.fset, s.files, s.info)
	return err
}

func goList(root string, patterns ...string) ([]listed, error) {
	cmd := exec.Command("go", append([]string{"list", "-export", "-deps", "-json=ImportPath,Dir,Export,GoFiles,DepOnly"}, patterns...)...)
	cmd.Dir = root
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("list the core's packages: %w: %s", err, stderr.String())
	}
	var packages []listed
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var p listed
		switch err := d.Decode(&p); {
		case errors.Is(err, io.EOF):
			return packages, nil
		case err != nil:
			return nil, fmt.Errorf("list the core's packages: %w", err)
		}
		packages = append(packages, p)
	}
}

// exported imports from the compiler's export files of the listed packages.
func exported(fset *token.FileSet, packages []listed) types.Importer {
	files := map[string]string{}
	for _, p := range packages {
		files[p.ImportPath] = p.Export
	}
	return importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) {
		if files[path] == "" {
			return nil, fmt.Errorf("no export file of %s", path)
		}
		return os.Open(files[path])
	})
}

func loaded(t *testing.T) *world {
	t.Helper()
	w, err := load()
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// core returns the packages of the core.
func core(t *testing.T) []*source {
	t.Helper()
	sources := loaded(t).core
	for _, want := range []string{"nmea", "controller", "coverage", "coverage/plane", "replay"} {
		if !slices.ContainsFunc(sources, func(s *source) bool { return s.path == want }) {
			t.Fatalf("read the core: package %s is missing", want)
		}
	}
	return sources
}

// bad type-checks a made-up file as a package of the core.
func bad(t *testing.T, path, text string) *source {
	t.Helper()
	w := loaded(t)
	s := &source{path: path, root: w.root, fset: token.NewFileSet()}
	f, err := parser.ParseFile(s.fset, filepath.Join(w.root, path, "bad.go"), text, parser.ParseComments|parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	s.files = []*ast.File{f}
	w.mu.Lock()
	defer w.mu.Unlock()
	if err := s.check(w.imports); err != nil {
		t.Fatal(err)
	}
	return s
}

// wantKeys fails unless exactly these keys were found, in any order.
func wantKeys(t *testing.T, findings []finding, want ...string) {
	t.Helper()
	var got []string
	for _, f := range findings {
		got = append(got, f.key)
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("bad example: got findings %q, want %q; in full %v", got, want, findings)
	}
}
