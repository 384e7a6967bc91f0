package catalog

import (
	"fmt"
	"strconv"
	"strings"

	"drawbar/controller"
	"drawbar/coverage"
	"drawbar/internal/agronomy"
)

// ProductKind is the class of a product; it decides what a product states and in
// which units its rate may be.
type ProductKind uint8

// The kinds of product. A granular or liquid product is a fertiliser or a carrier.
const (
	Seed ProductKind = iota
	SeedTreatment
	Granular
	Liquid
	Anhydrous
	Inoculant
	CropProtection
	Blend
	productKinds
)

func productKindNames() []string {
	return []string{"seed", "seed treatment", "granular", "liquid", "anhydrous", "inoculant", "crop protection", "blend"}
}

// String is the kind in words, as the file has it.
func (k ProductKind) String() string { return productKindNames()[min(k, productKinds-1)] }

func productKind(s string) (ProductKind, bool) {
	for i, name := range productKindNames() {
		if s == name {
			return ProductKind(i), true
		}
	}
	return 0, false
}

// Product is a product. What is not stated is the zero value; where zero could be
// meant, a Has bit tells. Its name is its own among those that are not archived.
type Product struct {
	Meta
	Name string
	Note string
	Kind ProductKind
	Has  ProductHas

	Price Price // not stated = not known

	DensityKgPerL float64 // kg/l; 0 = not known; not for seed

	// Of a seed.
	ThousandKernelG float64 // g per 1,000 seeds; 0 = not known
	GerminationPct  float64 // %; 0 = not known
	Lot             string

	// Of a seed treatment or an inoculant.
	RidesOn ID   // the seed that it is on; "" = any
	Dose    Dose // per mass of that seed

	Analysis agronomy.Analysis // of a fertiliser, where HasAnalysis

	// Of a crop protection product or a seed treatment: the user's own copy of the
	// label, which alone counts.
	Registration    string
	Substances      []Substance
	MaxRate         Rate    // of one application; not stated = none copied
	MaxApplications int     // a season, where HasMaxApplications
	ReentryH        float64 // h before people may enter again, where HasReentry
	PreHarvestDays  int     // days from the application to the harvest, where HasPreHarvest

	// Of a blend.
	ByVolume bool // the shares are volumes, else masses
	Parts    []Part
}

// ProductHas tells which numbers are stated that may be zero.
type ProductHas uint8

// The members that a product may state.
const (
	HasAnalysis ProductHas = 1 << iota
	HasMaxApplications
	HasReentry
	HasPreHarvest
)

// Substance is an active substance with its content in the product.
type Substance struct {
	Name    string
	Content float64 // in Per
	Per     ContentUnit
}

// ContentUnit is in what a content is stated.
type ContentUnit uint8

// The units of a content.
const (
	GramsPerLitre ContentUnit = iota
	GramsPerKg
	PercentByMass
	contentUnits
)

func (u ContentUnit) String() string {
	return [...]string{"g/l", "g/kg", "%"}[min(u, contentUnits-1)]
}

// Dose is an amount of a treatment for a mass of seed; the zero value is not
// stated.
type Dose struct {
	Amount float64 // in Unit
	Unit   DoseUnit
}

// DoseUnit is in what a dose is stated.
type DoseUnit uint8

// The units of a dose.
const (
	MlPerKg DoseUnit = iota
	GPerKg
	doseUnits
)

func (u DoseUnit) String() string { return [...]string{"ml/kg", "g/kg"}[min(u, doseUnits-1)] }

// PerKg is the dose in litres or kilograms a kg of seed.
func (d Dose) PerKg() (float64, controller.Dim) {
	if d.Unit == GPerKg {
		return d.Amount / 1000, controller.DimMass
	}
	return d.Amount / 1000, controller.DimVolume
}

// Part is a product in a blend. Shares are relative: 100, 100 and 50 are the same
// as 40, 40 and 20.
type Part struct {
	Product ID
	Share   float64 // of the mass, or of the volume
}

// withUnit writes a number and its unit; number and unit read it back.
func withUnit(v float64, unit string) string {
	return strconv.FormatFloat(v, 'f', -1, 64) + " " + unit
}

// contentOf and doseOf read what withUnit writes, blanks or not.
func contentOf(s string) (v float64, u ContentUnit, ok bool) {
	for u := range contentUnits {
		if v, ok := ofUnit(s, u.String()); ok {
			return v, u, true
		}
	}
	return 0, 0, false
}

func doseOf(s string) (Dose, bool) {
	for u := range doseUnits {
		if v, ok := ofUnit(s, u.String()); ok {
			return Dose{v, u}, true
		}
	}
	return Dose{}, false
}

func ofUnit(s, unit string) (float64, bool) {
	digits, ok := strings.CutSuffix(strings.TrimSpace(s), unit)
	digits = strings.TrimSpace(digits)
	if !ok || digits == "" || strings.Trim(digits, "0123456789.") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(digits, 64)
	return v, err == nil
}

func (k ProductKind) fertiliser() bool { return k == Granular || k == Liquid || k == Anhydrous }

func (k ProductKind) protects() bool { return k == CropProtection || k == SeedTreatment }

func (k ProductKind) rides() bool { return k == SeedTreatment || k == Inoculant }

// rates are what a rate of the product may measure.
func (k ProductKind) rates() []controller.Dim {
	switch k {
	case Seed:
		return []controller.Dim{controller.DimMassPerArea, controller.DimCountPerArea}
	case Granular:
		return []controller.Dim{controller.DimMassPerArea}
	case Liquid:
		return []controller.Dim{controller.DimVolumePerArea}
	default:
		return []controller.Dim{controller.DimMassPerArea, controller.DimVolumePerArea}
	}
}

func (k ProductKind) wantRate() string {
	switch k {
	case Seed:
		return "a mass or seeds per area for a seed, such as 180 kg/ha"
	case Granular:
		return "a mass per area for a granular product, such as 180 kg/ha"
	case Liquid:
		return "a volume per area for a liquid, such as 150 l/ha"
	default:
		return "a mass or a volume per area, such as 1.5 l/ha"
	}
}

// Tank is the product as a tank holds it. Of crop protection and of blends the
// kind stays open, so that any unit may meter them.
func (p Product) Tank() coverage.Product {
	out := coverage.Product{Name: p.Name}
	switch p.Kind {
	case Seed:
		out.Kind, out.ThousandKernelG = coverage.KindSeed, p.ThousandKernelG
	case SeedTreatment:
		out.Kind = coverage.KindSeedTreatment
	case Granular:
		out.Kind = coverage.KindGranular
	case Liquid:
		out.Kind = coverage.KindLiquid
	case Anhydrous:
		out.Kind = coverage.KindAnhydrous
	case Inoculant:
		out.Kind = coverage.KindInoculant
	}
	return out
}

func (p *Product) check() (is problems) {
	is.name("name", p.Name, "the product's name")
	is.note(p.Note)
	if p.Kind >= productKinds {
		is.add("kind", fmt.Sprint(uint8(p.Kind)), "one of "+strings.Join(productKindNames(), ", "))
		return is
	}
	is.onlyFor(p)
	if p.DensityKgPerL != 0 {
		is.number("density_kg_per_l", p.DensityKgPerL)
	}
	if p.ThousandKernelG != 0 {
		is.number("thousand_kernel_g", p.ThousandKernelG)
	}
	if p.GerminationPct != 0 {
		is.number("germination_pct", p.GerminationPct)
	}
	is.optional("lot", p.Lot, "the lot")
	if p.Price != (Price{}) {
		is = append(is, p.Price.check()...)
		is = append(is, p.Price.fits(p.Kind)...)
	}
	if p.RidesOn != "" {
		is.id("rides_on", p.RidesOn, "the seed")
	}
	if d := p.Dose; d != (Dose{}) && !(d.Unit < doseUnits && d.Amount >= 1e-6 && d.Amount <= 1000) {
		is.add("dose", withUnit(d.Amount, d.Unit.String()), wantDose)
	}
	is.analysis(p)
	is.protection(p)
	is.parts(p)
	return is
}

const (
	wantDose    = "an amount above 0, at most 1000, for each kg of seed, such as 2 ml/kg or 1.5 g/kg"
	wantContent = "a content above 0 such as 500 g/l, 250 g/kg or 50 %"
)

// onlyFor finds what a product of this kind does not have.
func (is *problems) onlyFor(p *Product) {
	for _, m := range []struct {
		key    string
		stated bool
		fits   bool
		want   string
	}{
		{"density_kg_per_l", p.DensityKgPerL != 0, p.Kind != Seed, "it for anything but a seed"},
		{"thousand_kernel_g", p.ThousandKernelG != 0, p.Kind == Seed, "it only for a seed"},
		{"germination_pct", p.GerminationPct != 0, p.Kind == Seed, "it only for a seed"},
		{"lot", p.Lot != "", p.Kind != Blend, "the lots of its parts"},
		{"rides_on", p.RidesOn != "", p.Kind.rides(), "it only for a seed treatment or an inoculant"},
		{"dose", p.Dose != (Dose{}), p.Kind.rides(), "it only for a seed treatment or an inoculant"},
		{"analysis", p.Has&HasAnalysis != 0, p.Kind.fertiliser(), "it only for a granular, liquid or anhydrous product; that of a blend follows from its parts"},
		{"registration", p.Registration != "", p.Kind.protects(), "it only for crop protection or a seed treatment"},
		{"substances", len(p.Substances) > 0, p.Kind.protects(), "them only for crop protection or a seed treatment"},
		{"max_rate", p.MaxRate.Stated(), p.Kind.protects(), "it only for crop protection or a seed treatment"},
		{"max_applications", p.Has&HasMaxApplications != 0, p.Kind.protects(), "it only for crop protection or a seed treatment"},
		{"reentry_h", p.Has&HasReentry != 0, p.Kind.protects(), "it only for crop protection or a seed treatment"},
		{"pre_harvest_days", p.Has&HasPreHarvest != 0, p.Kind.protects(), "it only for crop protection or a seed treatment"},
		{"parts", len(p.Parts) > 0, p.Kind == Blend, "them only for a blend"},
	} {
		if m.stated && !m.fits {
			is.add(m.key, "it for a product of the kind "+p.Kind.String(), m.want)
		}
	}
}

func (is *problems) analysis(p *Product) {
	if p.Has&HasAnalysis == 0 {
		p.Analysis = agronomy.Analysis{}
		return
	}
	is.numberAt("analysis.n_pct", "n_pct", p.Analysis.NPct)
	is.numberAt("analysis.p2o5_pct", "p2o5_pct", p.Analysis.P2O5Pct)
	is.numberAt("analysis.k2o_pct", "k2o_pct", p.Analysis.K2OPct)
	is.numberAt("analysis.s_pct", "s_pct", p.Analysis.SPct)
	if sum := p.Analysis.NPct + p.Analysis.P2O5Pct + p.Analysis.K2OPct + p.Analysis.SPct; len(*is) == 0 && sum > 100.0001 {
		is.add("analysis", withUnit(sum, "% in all"), "at most 100 %")
	}
}

const (
	maxSubstances = 50
	maxParts      = 50
)

func (is *problems) protection(p *Product) {
	is.optional("registration", p.Registration, "the registration number")
	if len(p.Substances) > maxSubstances {
		is.add("substances", fmt.Sprintf("%d substances", len(p.Substances)), fmt.Sprintf("at most %d", maxSubstances))
		return
	}
	for i, s := range p.Substances {
		at := fmt.Sprintf("substances[%d].", i)
		is.name(at+"name", s.Name, "the active substance")
		most := 1000.0 // g/kg; of a litre a little more
		switch s.Per {
		case GramsPerLitre:
			most = 5000
		case PercentByMass:
			most = 100
		}
		if s.Per >= contentUnits || !(s.Content >= 1e-6 && s.Content <= most) {
			is.add(at+"content", withUnit(s.Content, s.Per.String()), wantContent)
		}
	}
	if p.MaxRate.Stated() {
		is.rate("max_rate", p.MaxRate, CropProtection.rates(), CropProtection.wantRate())
	}
	if p.Has&HasMaxApplications != 0 {
		is.whole("max_applications", p.MaxApplications, 1, 1000)
	} else {
		p.MaxApplications = 0
	}
	if p.Has&HasReentry != 0 {
		is.number("reentry_h", p.ReentryH)
	} else {
		p.ReentryH = 0
	}
	if p.Has&HasPreHarvest != 0 {
		is.whole("pre_harvest_days", p.PreHarvestDays, 0, 10_000)
	} else {
		p.PreHarvestDays = 0
	}
}

func (is *problems) parts(p *Product) {
	if p.Kind != Blend {
		p.ByVolume = false
		return
	}
	if len(p.Parts) == 0 || len(p.Parts) > maxParts {
		is.add("parts", fmt.Sprintf("%d parts", len(p.Parts)), fmt.Sprintf("1 to %d products with their shares", maxParts))
		return
	}
	seen := map[ID]bool{}
	for i, part := range p.Parts {
		at := fmt.Sprintf("parts[%d].", i)
		is.id(at+"product", part.Product, "the product")
		is.numberAt(at+"share", "share", part.Share)
		if seen[part.Product] {
			is.add(at+"product", "a product a second time", "each product once")
		}
		seen[part.Product] = true
	}
}
