package catalog

import (
	"fmt"
	"strings"

	"drawbar/internal/agronomy"
	"drawbar/replay/statement"
)

func (r *reader) product(n *statement.Node, at string) {
	m := r.open(n, at, "name", "id", "archived", "kind", "note", "price", "density_kg_per_l", "thousand_kernel_g", "germination_pct", "lot",
		"rides_on", "dose", "analysis", "registration", "substances", "max_rate", "max_applications", "reentry_h", "pre_harvest_days",
		"shares_by", "parts")
	if m == nil {
		return
	}
	index := len(r.doc.Products)
	p := Product{Meta: m.meta(), Name: m.name("name", "the product's name"), Note: m.note()}
	m.must("kind", "one of "+strings.Join(productKindNames(), ", "))
	if s, ok := m.Choice("kind", productKindNames()...); ok {
		p.Kind, _ = productKind(s)
	}
	if s, ok := m.Name("price", wantPrice); ok {
		var err error
		if p.Price, err = ParsePrice(s); err != nil {
			m.Fault("price", shown(s), wantPrice)
		}
	}
	p.DensityKgPerL, _ = m.number("density_kg_per_l")
	p.ThousandKernelG, _ = m.number("thousand_kernel_g")
	p.GerminationPct, _ = m.number("germination_pct")
	p.Lot = m.optional("lot", "the lot")
	m.reference("rides_on", "the name or the id of a seed", func(d *Document, id ID) { d.Products[index].RidesOn = id })
	if m.Get("rides_on") != nil && !p.Kind.rides() && !m.faulty() {
		m.Fault("rides_on", "it for a product of the kind "+p.Kind.String(), "it only for a seed treatment or an inoculant")
	}
	if s, ok := m.Name("dose", wantDose); ok {
		if p.Dose, ok = doseOf(s); !ok || p.Dose.Amount == 0 {
			m.Fault("dose", shown(s), wantDose)
		}
	}
	m.analysis(&p)
	m.protection(&p)
	m.parts(&p, index)
	m.checked(p.check(), "product", "rides_on")
	r.doc.Products = append(r.doc.Products, p)
}

func (m *members) analysis(p *Product) {
	n := m.Get("analysis")
	if n == nil {
		return
	}
	a := m.r.open(n, m.Path("analysis"), "n_pct", "p2o5_pct", "k2o_pct", "s_pct")
	if a == nil {
		return
	}
	p.Has |= HasAnalysis
	var g agronomy.Analysis
	g.NPct, _ = a.number("n_pct")
	g.P2O5Pct, _ = a.number("p2o5_pct")
	g.K2OPct, _ = a.number("k2o_pct")
	g.SPct, _ = a.number("s_pct")
	p.Analysis = g
}

func (m *members) protection(p *Product) {
	p.Registration = m.optional("registration", "the registration number")
	list, _ := m.List("substances", "a list of active substances")
	for i := range list {
		s := m.r.open(&list[i], fmt.Sprintf("%s[%d]", m.Path("substances"), i), "name", "content")
		if s == nil {
			continue
		}
		one := Substance{Name: s.name("name", "the active substance")}
		text, ok := s.name("content", wantContent), false
		if one.Content, one.Per, ok = contentOf(text); !ok && !s.faulty() {
			s.Fault("content", shown(text), wantContent)
		}
		p.Substances = append(p.Substances, one)
	}
	p.MaxRate = m.rate("max_rate", CropProtection.wantRate())
	var ok bool
	if p.MaxApplications, ok = m.whole("max_applications", 1, 1000); ok {
		p.Has |= HasMaxApplications
	}
	if p.ReentryH, ok = m.number("reentry_h"); ok {
		p.Has |= HasReentry
	}
	if p.PreHarvestDays, ok = m.whole("pre_harvest_days", 0, 10_000); ok {
		p.Has |= HasPreHarvest
	}
}

func (m *members) parts(p *Product, index int) {
	if m.Get("shares_by") != nil && p.Kind != Blend && !m.faulty() {
		m.Fault("shares_by", "it for a product of the kind "+p.Kind.String(), "it only for a blend")
	}
	if s, ok := m.Choice("shares_by", blendBy(false), blendBy(true)); ok {
		p.ByVolume = s == blendBy(true)
	}
	if p.Kind == Blend && m.Get("shares_by") == nil && !m.faulty() {
		m.Missing("shares_by", "mass or volume")
	}
	list, _ := m.List("parts", "a list of products with their shares")
	for i := range list {
		one := m.r.open(&list[i], fmt.Sprintf("%s[%d]", m.Path("parts"), i), "product", "share")
		if one == nil {
			continue
		}
		const want = "the name or the id of a product"
		one.must("product", want)
		k := len(p.Parts)
		one.reference("product", want, func(d *Document, id ID) {
			if k < len(d.Products[index].Parts) {
				d.Products[index].Parts[k].Product = id
			}
		})
		one.must("share", rangeOf("share").String())
		var part Part
		part.Share, _ = one.number("share")
		p.Parts = append(p.Parts, part)
	}
}
