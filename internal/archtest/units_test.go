package archtest

import (
	"go/ast"
	"go/token"
	"go/types"
	"regexp"
	"testing"
)

// unitSuffix is how a field's name carries its unit; unitComment are the words
// by which a comment states one, or that there is none.
var (
	unitSuffix  = regexp.MustCompile(`(^|[a-z0-9])(M|M2|Mm|S|MPS|MPS2|Deg|Rad|RadPerM|RadPerS|DegPerS|PerM2|PerM|PerS|M2PerS|Kg|G|L|Hz|PPM|Pct|SI)$`)
	unitComment = regexp.MustCompile(`(?i)(^|[^\w/])(m|m2|m/s|m/s2|metres?|s|seconds?|deg|degrees|rad|radians|1/m|kg|g|litres?|seeds|ppm|hz|percent|times|SI|ratio|factor|fraction|plain number|no unit|1e-8 m2)([^\w/]|$)`)
)

// findUnits lists exported fields of exported structs that hold bare floating
// point numbers and say their unit neither in the name nor in a comment. In a
// struct with a field Unit that one tells it.
func findUnits(s *source) (out []finding) {
	for _, f := range s.files {
		for _, decl := range f.Decls {
			gen, ok := decl.(*ast.GenDecl)
			if !ok || gen.Tok != token.TYPE {
				continue
			}
			for _, spec := range gen.Specs {
				spec := spec.(*ast.TypeSpec)
				if fields, ok := spec.Type.(*ast.StructType); ok && spec.Name.IsExported() {
					out = append(out, s.unitsOf(spec.Name.Name, fields)...)
				}
			}
		}
	}
	return out
}

func (s *source) unitsOf(name string, fields *ast.StructType) (out []finding) {
	for _, field := range fields.Fields.List {
		for _, id := range field.Names {
			if id.Name == "Unit" {
				return nil
			}
		}
	}
	for _, field := range fields.Fields.List {
		if !bareFloat(s.info.TypeOf(field.Type)) || unitComment.MatchString(field.Doc.Text()+"\n"+field.Comment.Text()) {
			continue
		}
		for _, id := range field.Names {
			if id.IsExported() && !unitSuffix.MatchString(id.Name) {
				key := name + "." + id.Name
				out = append(out, s.found(id.Pos(), key, "%s: the name needs its unit (such as M, S, MPS, Deg, Rad, PerM2) or the comment must state it", key))
			}
		}
	}
	return out
}

// bareFloat tells whether t is float64 or float32, or a slice, array or pointer of them;
// a type of its own has a documentation of its own.
func bareFloat(t types.Type) bool {
	switch t := t.(type) {
	case *types.Basic:
		return t.Info()&types.IsFloat != 0
	case *types.Slice:
		return bareFloat(t.Elem())
	case *types.Array:
		return bareFloat(t.Elem())
	case *types.Pointer:
		return bareFloat(t.Elem())
	default:
		return false
	}
}

func TestFindUnits(t *testing.T) {
	t.Parallel()
	s := bad(t, "coverage", `package coverage
type Angle float64
type Good struct {
	WidthM, LagS float64
	RatePerM2    []float64
	Speed        float64 // over ground, m/s
	// Dilution is a plain number.
	Dilution float64
	Course   Angle
	Count    int
	hidden   float64
}
type Bad struct {
	Width   float64
	Rates   []float64 // of all tanks
	LatDeg, Lon float64
	SYSTEM  *float64
}
type Quantity struct {
	Value float64
	Unit  string
}
type unexported struct{ Width float64 }
`)
	wantKeys(t, findUnits(s), "Bad.Width", "Bad.Rates", "Bad.Lon", "Bad.SYSTEM")
}
