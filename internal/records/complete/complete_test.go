package complete

import (
	"strings"
	"testing"
	"time"

	"drawbar/internal/units"
)

func ptr[T any](v T) *T { return &v }

// sprayed is an operation of which everything is known: 12.34 ha of Mill Piece on 14
// May 2026, 14:05 to 15:40 British summer time, 200 l/ha.
func sprayed() Operation {
	summer := time.FixedZone("BST", 3600)
	return Operation{
		Use: UseGround, Zone: summer,
		Start: time.Date(2026, 5, 14, 13, 5, 10, 0, time.UTC), End: time.Date(2026, 5, 14, 14, 40, 0, 0, time.UTC),
		Field: "Mill Piece", HasBoundary: true, AreaM2: ptr(123_400.0),
		Crop: "Spring oats", CropCode: "AVESA", GrowthStage: ptr(30),
		Person: "Day operator", Licence: "PA2-0001", Certified: Yes, ForOthers: No,
		Products: []Product{{
			Name: "Hollow Mix 3", Registration: "M-00001", Protects: Yes, Restricted: Yes,
			Amount: ptr(2468.0), Rate: ptr(0.02), Unit: "l", TimeLimited: No, StageLimited: Yes,
		}},
	}
}

// until2025 is the same work in the last summer of the federal rule.
func until2025() Operation {
	op := sprayed()
	op.Start, op.End = op.Start.AddDate(-1, 0, 0), op.End.AddDate(-1, 0, 0)
	return op
}

func (c Checklist) find(id ID, product int) (Element, bool) {
	for _, e := range c.Elements {
		if e.ID == id && (e.Product == product || e.Product < 0) {
			return e, true
		}
	}
	return Element{}, false
}

// The elements of each text, in its order. Sources: Article 67(1) of 1107/2009 by
// recital 1 of 2023/564; the Annex of 2023/564 by what advisory services and a reader
// of the table write of it (type of use; product with number; date and start time; dose;
// location; size; crop with EPPO code and BBCH stage; batch number); 7 CFR 110.3(a)(1)
// to (5) as printed in the CFR of 2006; 40 CFR 171.303(b)(7)(vi) by the EPA's page.
func TestElementsOfEachText(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		rules Rules
		op    Operation
		want  string
	}{
		{EUArticle67, sprayed(), "product_name date dose area place crop"},
		{EURecords, sprayed(), "use_kind product_name registration date start_time dose place area crop crop_code growth_stage lot"},
		{USFederal, until2025(), "product_name registration total_amount place area crop date applicator licence supervisor"},
		{USCommercial, sprayed(), "customer place area crop date start_time product_name registration total_amount applicator licence supervisor"},
	} {
		list := Check(c.rules, c.op)
		var got []string
		for _, e := range list.Elements {
			got = append(got, string(e.ID))
			if e.Words == "" || e.When == "" || e.Source.Act == "" || e.Source.Section == "" || e.Source.Read == "" || e.Where == "" {
				t.Errorf("%v %s: words, when, source or place is missing: %+v", c.rules, e.ID, e)
			}
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%v: got %s\nwant %s", c.rules, s, c.want)
		}
		if list.Concerned != Yes || list.Count(Missing) != 0 || list.Count(Depends) > 1 {
			t.Errorf("%v: everything is known: concerned %v (%s), %d missing, %d depend", c.rules, list.Concerned, list.Why, list.Count(Missing), list.Count(Depends))
		}
	}
}

// What is taken away is missing in the texts that ask for it, and nowhere else.
func TestWhatIsMissing(t *testing.T) {
	t.Parallel()
	all := []Rules{EUArticle67, EURecords, USFederal, USCommercial}
	for _, c := range []struct {
		name  string
		take  func(*Operation)
		id    ID
		where Where
		in    []Rules
	}{
		{"name", func(op *Operation) { op.Products[0].Name = "" }, ProductName, InProduct, all},
		{"registration", func(op *Operation) { op.Products[0].Registration = "" }, Registration, InProduct, all[1:]},
		{"rate", func(op *Operation) { op.Products[0].Rate = nil }, Dose, InOperation, all[:2]},
		{"amount", func(op *Operation) { op.Products[0].Amount = nil }, Amount, InOperation, all[2:]},
		{"area", func(op *Operation) { op.AreaM2 = nil }, Area, InOperation, all},
		{"field", func(op *Operation) { op.Field = "" }, Place, InField, all},
		{"name of the field alone", func(op *Operation) { op.HasBoundary = false }, Place, InField, all},
		{"crop", func(op *Operation) { op.Crop = "" }, Crop, InSeason, all},
		{"kind of use", func(op *Operation) { op.Use = UseUnsaid }, UseKind, InOperation, all[1:2]},
		{"growth stage that the label limits", func(op *Operation) { op.GrowthStage = nil }, GrowthStage, InOperation, all[1:2]},
		{"person", func(op *Operation) { op.Person = "" }, Applicator, InOperation, all[2:]},
		{"licence of a certified person", func(op *Operation) { op.Licence = "" }, Licence, InPerson, all[2:]},
		{"supervisor", func(op *Operation) { op.Licence, op.Certified = "", No }, Supervisor, Elsewhere, all[2:]},
		{"customer", func(op *Operation) { op.ForOthers = Yes }, Customer, Elsewhere, all[3:]},
	} {
		for _, r := range all {
			op := sprayed()
			if r == USFederal {
				op = until2025()
			}
			c.take(&op)
			list := Check(r, op)
			want := 0
			for _, in := range c.in {
				if in == r {
					want = 1
				}
			}
			if got := list.Count(Missing); got != want {
				t.Errorf("%s, %v: %d missing, want %d", c.name, r, got, want)
			}
			if want == 0 {
				continue
			}
			e, ok := list.find(c.id, 0)
			if !ok || e.State != Missing || e.Enter == "" || e.Where != c.where || e.Value != "" {
				t.Errorf("%s, %v: got %+v", c.name, r, e)
			}
		}
	}
}

// Footnotes 4 and 7 of the Annex of 2023/564, as read: the start time where the label or
// the use makes it matter, on surface areas only; the stage where the label limits it, on
// surface areas and in closed spaces.
func TestWhereItMatters(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		use   Use
		label Answer
		start State
		stage State
	}{
		{UseGround, Yes, Missing, Missing},
		{UseGround, No, NotApplicable, NotApplicable},
		{UseGround, Unsaid, Depends, Depends},
		{UseClosed, Yes, NotApplicable, Missing},
		{UseClosed, Unsaid, NotApplicable, Depends},
		{UseOnMaterial, Yes, NotApplicable, NotApplicable},
		{UseUnsaid, Yes, Depends, Missing},
		{UseUnsaid, No, NotApplicable, NotApplicable},
	} {
		op := sprayed()
		op.Use, op.GrowthStage = c.use, nil
		op.Products[0].TimeLimited, op.Products[0].StageLimited = c.label, c.label
		op.Start = time.Time{} // the day is that of the end
		list := Check(EURecords, op)
		if e, _ := list.find(StartTime, 0); e.State != c.start {
			t.Errorf("use %q, label %v: start time is %v, want %v", c.use, c.label, e.State, c.start)
		}
		if e, _ := list.find(GrowthStage, 0); e.State != c.stage {
			t.Errorf("use %q, label %v: growth stage is %v, want %v", c.use, c.label, e.State, c.stage)
		}
		if e, _ := list.find(Date, -1); e.Value != "2026-05-14" {
			t.Errorf("date: got %q", e.Value)
		}
	}
}

// From when, and up to when: 2023/564 by recital 2 of 2025/2203 (uses from 1 January
// 2026), 7 CFR 110 by FR Doc. 2025-08220 (rescinded from 11 July 2025).
func TestWhichTextIsConcerned(t *testing.T) {
	t.Parallel()
	on := func(y int, m time.Month, d, h int) time.Time { return time.Date(y, m, d, h, 0, 0, 0, time.UTC) }
	for _, c := range []struct {
		name                 string
		rules                Rules
		at                   time.Time
		protects, restricted Answer
		want                 Answer
		why                  string
	}{
		{"a spraying", EUArticle67, on(2020, 5, 1, 9), Yes, Unsaid, Yes, "Hollow Mix 3"},
		{"a fertiliser", EUArticle67, on(2026, 5, 1, 9), No, No, No, "no product"},
		{"nobody has said", EUArticle67, on(2026, 5, 1, 9), Unsaid, Unsaid, Unsaid, "Hollow Mix 3"},
		{"the last evening of 2025", EURecords, on(2025, 12, 31, 22), Yes, Yes, No, "Article 67(1) alone"},
		{"the first hour of 2026, by the clock there", EURecords, on(2025, 12, 31, 23), Yes, Yes, Yes, "Hollow Mix 3"},
		{"a fertiliser in 2026", EURecords, on(2026, 5, 1, 9), No, No, No, "no product"},
		{"the last day of part 110", USFederal, on(2025, 7, 10, 20), Yes, Yes, Yes, "restricted use"},
		{"the day of its end", USFederal, on(2025, 7, 11, 9), Yes, Yes, No, "rescinded"},
		{"of general use", USFederal, on(2024, 7, 11, 9), Yes, No, No, "no product"},
		{"nobody has said which", USFederal, on(2024, 7, 11, 9), Yes, Unsaid, Unsaid, "see the label"},
		{"a fertiliser is never of restricted use", USCommercial, on(2026, 5, 1, 9), No, Unsaid, No, "no product"},
		{"no day, before", USFederal, time.Time{}, Yes, Yes, Unsaid, "nothing says when"},
		{"no day, from", EURecords, time.Time{}, Yes, Yes, Unsaid, "nothing says when"},
	} {
		op := sprayed()
		op.Start, op.End = c.at, time.Time{}
		op.Products[0].Protects, op.Products[0].Restricted = c.protects, c.restricted
		list := Check(c.rules, op)
		if list.Concerned != c.want || !strings.Contains(list.Why, c.why) {
			t.Errorf("%s: got %v (%s), want %v (…%s…)", c.name, list.Concerned, list.Why, c.want, c.why)
		}
		if (list.Concerned == No) != (len(list.Elements) == 0) {
			t.Errorf("%s: %v with %d elements", c.name, list.Concerned, len(list.Elements))
		}
	}
}

// 14 days and 2 years: 7 CFR 110.3(c) and (d); 30 days: Article 3 of 2023/564; 3 years:
// Article 67(1) of 1107/2009.
func TestDays(t *testing.T) {
	t.Parallel()
	summer := sprayed().Zone
	for _, c := range []struct {
		rules       Rules
		op          Operation
		by, keepFor time.Time
	}{
		{EUArticle67, sprayed(), time.Time{}, time.Date(2029, 5, 14, 0, 0, 0, 0, summer)},
		{EURecords, sprayed(), time.Date(2026, 6, 14, 0, 0, 0, 0, summer), time.Date(2029, 5, 14, 0, 0, 0, 0, summer)},
		{USFederal, until2025(), time.Date(2025, 5, 29, 0, 0, 0, 0, summer), time.Date(2027, 5, 14, 0, 0, 0, 0, summer)},
		{USCommercial, sprayed(), time.Time{}, time.Date(2028, 5, 14, 0, 0, 0, 0, summer)},
	} {
		list := Check(c.rules, c.op)
		if !list.RecordBy.Equal(c.by) || !list.KeepUntil.Equal(c.keepFor) {
			t.Errorf("%v: by %v, until %v; want %v, %v", c.rules, list.RecordBy, list.KeepUntil, c.by, c.keepFor)
		}
	}
	none := sprayed()
	none.Start, none.End = time.Time{}, time.Time{}
	if list := Check(EURecords, none); !list.RecordBy.IsZero() || !list.KeepUntil.IsZero() {
		t.Errorf("no day is known: got %v, %v", list.RecordBy, list.KeepUntil)
	}
}

// Values are written in the units and by the clock of the place: 123,400 m2 is 12.340 ha,
// 30.493 ac (1 ac = 4,046.8564224 m2, international acre); 0.02 l/m2 is 200 l/ha.
func TestValues(t *testing.T) {
	t.Parallel()
	us := sprayed()
	us.Units = units.US
	night := sprayed()
	night.End = night.Start.Add(12 * time.Hour)
	for _, c := range []struct {
		op    Operation
		rules Rules
		id    ID
		want  string
	}{
		{sprayed(), EURecords, UseKind, "treatment of a surface area"},
		{sprayed(), EURecords, Area, "12.340 ha"},
		{us, EURecords, Area, "30.493 ac"},
		{sprayed(), EURecords, Dose, "200.0 L/ha"},
		{sprayed(), USCommercial, Amount, "2468.0 L"},
		{sprayed(), EURecords, StartTime, "14:05"},
		{sprayed(), EURecords, Date, "2026-05-14"},
		{night, EURecords, Date, "2026-05-14 to 2026-05-15"},
		{sprayed(), EURecords, Place, "Mill Piece, boundary on record"},
		{sprayed(), EURecords, GrowthStage, "BBCH 30"},
	} {
		if e, ok := Check(c.rules, c.op).find(c.id, 0); !ok || e.Value != c.want || e.State != Present || e.Enter != "" {
			t.Errorf("%s: got %+v, want %q", c.id, e, c.want)
		}
	}
}

// Each product of a tank mix has its own lines, but for one that protects nothing; a
// doubt belongs to the product that it names.
func TestProductsAndDoubts(t *testing.T) {
	t.Parallel()
	op := sprayed()
	water := Product{Name: "Water", Protects: No, Unit: "l"}
	second := Product{Name: "Hollow Mix 4", Protects: Unsaid, Unit: "l"}
	op.Products = append(op.Products, water, second)
	op.Doubts = []Doubt{{Element: Dose, Product: 0, Text: "unknown on 0.4 ha"}, {Element: Area, Product: -1, Text: "the session was cut short"}, {Element: Dose, Product: 2, Text: "none"}}
	list := Check(EURecords, op)
	var of []int
	for _, e := range list.Elements {
		if e.ID == Registration {
			of = append(of, e.Product)
		}
	}
	if len(of) != 2 || of[0] != 0 || of[1] != 2 {
		t.Errorf("registration numbers of products %v, want 0 and 2", of)
	}
	for _, c := range []struct {
		id      ID
		product int
		state   State
		doubt   string
	}{
		{Dose, 0, Present, "unknown on 0.4 ha"},
		{Dose, 2, Missing, ""},
		{Area, -1, Present, "the session was cut short"},
	} {
		if e, _ := list.find(c.id, c.product); e.State != c.state || e.Doubt != c.doubt {
			t.Errorf("%s of %d: got %v %q, want %v %q", c.id, c.product, e.State, e.Doubt, c.state, c.doubt)
		}
	}
}

// The zero operation is one of which nothing is known; nothing of it is present.
func TestNothingKnown(t *testing.T) {
	t.Parallel()
	for _, list := range All(Operation{}) {
		if list.Concerned != Unsaid || list.Count(Present) != 0 || len(list.Elements) == 0 || list.Title == "" {
			t.Errorf("%v: concerned %v, %d present of %d", list.Rules, list.Concerned, list.Count(Present), len(list.Elements))
		}
	}
}

// A number without its unit is no amount.
func TestNoUnit(t *testing.T) {
	t.Parallel()
	op := sprayed()
	op.Products[0].Unit = ""
	if e, _ := Check(EURecords, op).find(Dose, 0); e.State != Missing {
		t.Errorf("dose without a unit: %+v", e)
	}
	if e, _ := Check(USCommercial, op).find(Amount, 0); e.State != Missing {
		t.Errorf("amount without a unit: %+v", e)
	}
}

func TestNames(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for r := range ruleSets {
		if name := r.String(); name == "" || seen[name] {
			t.Errorf("text %d is named %q, as no other should be", r, name)
		} else {
			seen[name] = true
		}
	}
	if list := Check(ruleSets, sprayed()); list.Concerned != No {
		t.Errorf("rules that are none: %+v", list)
	}
}
