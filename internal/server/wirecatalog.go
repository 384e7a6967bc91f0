package server

import (
	"encoding/json"

	"github.com/danielgtaylor/huma/v2"
)

// The JSON shapes of the catalogue. Members are those of its exchange file: package
// catalog reads and writes them, and these types describe them. Those that are
// embedded have capitals because huma looks at no others.

// ItemMeta is what every item has in an answer.
type ItemMeta struct {
	ID       string `json:"id" doc:"Made once and never given to another item."`
	Revision int64  `json:"revision" minimum:"1" doc:"Grows by one with each change."`
	Archived bool   `json:"archived" doc:"No longer offered; kept for what refers to it."`
}

func (m *ItemMeta) meta() *ItemMeta { return m }

// SentMeta is the same in a request.
type SentMeta struct {
	ID       string `json:"id,omitempty" doc:"That of the address; with POST a new one of 26 letters and digits, or left out to have one made."`
	Revision int64  `json:"revision,omitempty" minimum:"0" doc:"The one that was read, with PUT. Where the item has another by now, nothing is changed."`
	Archived bool   `json:"archived,omitempty" doc:"No longer offered; kept for what refers to it."`
}

// FieldMembers is what a file states of a field.
type FieldMembers struct {
	Name     string      `json:"name" doc:"Its own among the fields that are not archived, whatever the case of its letters."`
	Note     string      `json:"note,omitempty" doc:"May have several lines."`
	Boundary outlineJSON `json:"boundary,omitempty" nullable:"true" doc:"Not in lists. With PUT: left out it stays, null takes it away."`
}

type catalogFieldJSON struct {
	_ struct{} `doc:"A field of the farm."`
	ItemMeta
	FieldMembers
	HasBoundary bool     `json:"has_boundary" doc:"Its outline is known."`
	AreaM2      *float64 `json:"area_m2" minimum:"0" doc:"Inside its boundary, on the ellipsoid; worked out."`
}

type catalogFieldSentJSON struct {
	_ struct{} `doc:"A field of the farm, as it is to be."`
	SentMeta
	FieldMembers
}

// SeasonMembers is what a file states of a season.
type SeasonMembers struct {
	Field       string `json:"field" doc:"The id of its field."`
	Crop        string `json:"crop" doc:"What grows."`
	CropCode    string `json:"crop_code,omitempty" doc:"EPPO code of the crop, such as AVESA."`
	Year        int    `json:"year,omitempty" minimum:"1900" maximum:"2200" doc:"Or start and end."`
	Start       string `json:"start,omitempty" format:"date" doc:"First day."`
	End         string `json:"end,omitempty" format:"date" doc:"Last day; left out: not known yet."`
	TargetYield string `json:"target_yield,omitempty" doc:"With its unit, such as 6.5 t/ha."`
	Note        string `json:"note,omitempty"`
}

type catalogSeasonJSON struct {
	_ struct{} `doc:"A crop on a field."`
	ItemMeta
	SeasonMembers
}

type catalogSeasonSentJSON struct {
	_ struct{} `doc:"A crop on a field, as it is to be."`
	SentMeta
	SeasonMembers
}

// PlanMembers is what a file states of a plan.
type PlanMembers struct {
	Season    string `json:"season" doc:"The id of its season."`
	Order     int    `json:"order" minimum:"1" maximum:"10000" doc:"In the season; what goes on together has the same."`
	Operation string `json:"operation" doc:"Such as seeding."`
	Product   string `json:"product" doc:"The id of the product; a request may name it."`
	Rate      string `json:"rate" doc:"With its unit, such as 180 kg/ha."`
	Tank      int    `json:"tank,omitempty" minimum:"0" maximum:"99" doc:"Left out: any."`
	Note      string `json:"note,omitempty"`
}

type catalogPlanJSON struct {
	_ struct{} `doc:"One product that is planned for a season of a field."`
	ItemMeta
	PlanMembers
}

type catalogPlanSentJSON struct {
	_ struct{} `doc:"One product that is planned for a season of a field, as it is to be."`
	SentMeta
	PlanMembers
}

// ImplementMembers is what a file states of a implement.
type ImplementMembers struct {
	Name            string    `json:"name" doc:"Its own among the implements that are not archived."`
	Note            string    `json:"note,omitempty"`
	Operation       string    `json:"operation,omitempty" doc:"Such as seeding."`
	AntennaToHitchM float64   `json:"antenna_to_hitch_m,omitempty" minimum:"-50" maximum:"50" doc:"Hitch point behind the antenna; negative: ahead of it."`
	AntennaRightM   float64   `json:"antenna_right_m,omitempty" minimum:"-50" maximum:"50" doc:"Antenna right of the centre line."`
	Mount           string    `json:"mount,omitempty" enum:"rigid,towed" doc:"Left out: rigid."`
	HitchToAxleM    float64   `json:"hitch_to_axle_m,omitempty" minimum:"0" maximum:"50" doc:"Of a towed one: from the hitch to the wheels that steer it."`
	HitchToBarM     float64   `json:"hitch_to_bar_m,omitempty" minimum:"-50" maximum:"50" doc:"From the hitch to the bar, along the implement."`
	BarRightM       float64   `json:"bar_right_m,omitempty" minimum:"-50" maximum:"50" doc:"Centre of the bar right of the implement's centre line."`
	SectionsM       []float64 `json:"sections_m" minItems:"1" doc:"Widths of the sections, left to right."`
}

type catalogImplementJSON struct {
	_ struct{} `doc:"A drill, planter, sprayer or spreader."`
	ItemMeta
	ImplementMembers
}

type catalogImplementSentJSON struct {
	_ struct{} `doc:"A drill, planter, sprayer or spreader, as it is to be."`
	SentMeta
	ImplementMembers
}

// TractorMembers is what a file states of a tractor.
type TractorMembers struct {
	Name              string   `json:"name" doc:"Its own among the tractors that are not archived."`
	Note              string   `json:"note,omitempty"`
	AntennaRightM     float64  `json:"antenna_right_m,omitempty" minimum:"-50" maximum:"50" doc:"Antenna right of the centre line."`
	AntennaToHitchM   float64  `json:"antenna_to_hitch_m" minimum:"-50" maximum:"50" doc:"The drawbar's pin behind the antenna; negative: ahead of it."`
	AntennaToLinkageM *float64 `json:"antenna_to_linkage_m,omitempty" minimum:"-50" maximum:"50" doc:"Ends of the lower links behind the antenna; left out: not measured."`
}

type catalogTractorJSON struct {
	_ struct{} `doc:"Where a tractor has its antenna and its hitches."`
	ItemMeta
	TractorMembers
}

type catalogTractorSentJSON struct {
	_ struct{} `doc:"Where a tractor has its antenna and its hitches, as it is to be."`
	SentMeta
	TractorMembers
}

type gradeJSON struct {
	_       struct{} `doc:"What a fertiliser contains, per cent of its mass."`
	NPct    float64  `json:"n_pct,omitempty" minimum:"0" maximum:"100" doc:"Nitrogen."`
	P2O5Pct float64  `json:"p2o5_pct,omitempty" minimum:"0" maximum:"100" doc:"Phosphate as P2O5."`
	K2OPct  float64  `json:"k2o_pct,omitempty" minimum:"0" maximum:"100" doc:"Potash as K2O."`
	SPct    float64  `json:"s_pct,omitempty" minimum:"0" maximum:"100" doc:"Sulphur as the element."`
}

type substanceJSON struct {
	_       struct{} `doc:"An active substance."`
	Name    string   `json:"name"`
	Content string   `json:"content" doc:"In g/l, g/kg or %, such as 250 g/l."`
}

type partJSON struct {
	_       struct{} `doc:"A product in a blend."`
	Product string   `json:"product" doc:"Its id; a request may name it."`
	Share   float64  `json:"share" exclusiveMinimum:"0" doc:"Beside the shares of the other parts, in any unit that they have in common."`
}

// ProductMembers is what a file states of a product.
type ProductMembers struct {
	Name            string          `json:"name" doc:"Its own among the products that are not archived."`
	Kind            string          `json:"kind" enum:"seed,seed treatment,granular,liquid,anhydrous,inoculant,crop protection,blend" doc:"Decides what else it may state."`
	Note            string          `json:"note,omitempty"`
	Price           string          `json:"price,omitempty" doc:"With currency and unit, such as 320 EUR/t or 95 EUR/50000 seeds."`
	DensityKgPerL   float64         `json:"density_kg_per_l,omitempty" minimum:"0.2" maximum:"5" doc:"Of anything but a seed; without it litres have no nutrients."`
	ThousandKernelG float64         `json:"thousand_kernel_g,omitempty" minimum:"0" maximum:"10000" doc:"Of a seed: the weight of a thousand."`
	GerminationPct  float64         `json:"germination_pct,omitempty" minimum:"0" maximum:"100" doc:"Of a seed."`
	Lot             string          `json:"lot,omitempty" doc:"Of anything but a blend."`
	RidesOn         string          `json:"rides_on,omitempty" doc:"Of a seed treatment or an inoculant: the id of the seed that it is on; left out: any. A request may name it."`
	Dose            string          `json:"dose,omitempty" doc:"Of the same, for each kg of that seed, such as 2 ml/kg."`
	Analysis        *gradeJSON      `json:"analysis,omitempty" doc:"Of a fertiliser; that of a blend follows from its parts."`
	Registration    string          `json:"registration,omitempty" doc:"Of crop protection or a seed treatment: the number on the label. This and the limits below are the user's own copy of the label, which alone counts."`
	Substances      []substanceJSON `json:"substances,omitempty" doc:"Active substances."`
	MaxRate         string          `json:"max_rate,omitempty" doc:"Of one application, such as 1 l/ha."`
	MaxApplications *int            `json:"max_applications,omitempty" minimum:"1" maximum:"1000" doc:"In a season."`
	ReentryH        *float64        `json:"reentry_h,omitempty" minimum:"0" doc:"Hours before people may enter again."`
	PreHarvestDays  *int            `json:"pre_harvest_days,omitempty" minimum:"0" doc:"Days from the application to the harvest."`
	SharesBy        string          `json:"shares_by,omitempty" enum:"mass,volume" doc:"Of a blend."`
	Parts           []partJSON      `json:"parts,omitempty" doc:"Of a blend."`
}

type catalogProductJSON struct {
	_ struct{} `doc:"A product."`
	ItemMeta
	ProductMembers
	Composition compositionJSON `json:"composition"`
}

type catalogProductSentJSON struct {
	_ struct{} `doc:"A product, as it is to be."`
	SentMeta
	ProductMembers
}

type compositionJSON struct {
	_             struct{} `doc:"What a product consists of: as stated, of a blend as it follows from its parts. Null: not known."`
	NPct          *float64 `json:"n_pct" minimum:"0" maximum:"100" doc:"Nitrogen, per cent of the mass."`
	P2O5Pct       *float64 `json:"p2o5_pct" minimum:"0" maximum:"100" doc:"Phosphate as P2O5."`
	K2OPct        *float64 `json:"k2o_pct" minimum:"0" maximum:"100" doc:"Potash as K2O."`
	SPct          *float64 `json:"s_pct" minimum:"0" maximum:"100" doc:"Sulphur as the element."`
	DensityKgPerL *float64 `json:"density_kg_per_l" minimum:"0" doc:"Kilograms a litre."`
}

// PersonMembers is what a file states of a person.
type PersonMembers struct {
	Name    string `json:"name" doc:"A name or a role, its own among the people who are not archived."`
	Licence string `json:"licence,omitempty" doc:"Number of the licence or certificate that goes with the work."`
	Note    string `json:"note,omitempty"`
}

type catalogPersonJSON struct {
	_ struct{} `doc:"Who works."`
	ItemMeta
	PersonMembers
}

type catalogPersonSentJSON struct {
	_ struct{} `doc:"Who works, as it is to be."`
	SentMeta
	PersonMembers
}

// outlineJSON is an outline of GeoJSON, nil for none.
type outlineJSON json.RawMessage

// MarshalJSON writes it.
func (o outlineJSON) MarshalJSON() ([]byte, error) { return json.RawMessage(o).MarshalJSON() }

// UnmarshalJSON keeps it as it is.
func (o *outlineJSON) UnmarshalJSON(b []byte) error { return (*json.RawMessage)(o).UnmarshalJSON(b) }

// Schema describes it.
func (outlineJSON) Schema(huma.Registry) *huma.Schema {
	two, list := 2, func(of *huma.Schema) *huma.Schema { return &huma.Schema{Type: huma.TypeArray, Items: of} }
	position := list(&huma.Schema{Type: huma.TypeNumber})
	position.MinItems, position.MaxItems = &two, &two
	geometry := func(kind string, coordinates *huma.Schema) *huma.Schema {
		return &huma.Schema{
			Type: huma.TypeObject, Required: []string{"type", "coordinates"}, AdditionalProperties: false,
			Properties: map[string]*huma.Schema{"type": {Type: huma.TypeString, Enum: []any{kind}}, "coordinates": coordinates},
		}
	}
	return &huma.Schema{AnyOf: []*huma.Schema{
		geometry("MultiPolygon", list(list(list(position)))), geometry("Polygon", list(list(position))), {Type: "null"},
	}}
}

type catalogListJSON[W any] struct {
	_     struct{} `doc:"Items of one kind."`
	Items []W      `json:"items" doc:"By name; seasons by their begin, plans by their order."`
}

type catalogConflictJSON[W any] struct {
	_       struct{}    `doc:"An item was not changed, for another has changed it meanwhile."`
	Error   string      `json:"error" doc:"What is wrong and what to do."`
	Faults  []faultJSON `json:"faults" doc:"Empty."`
	Current W           `json:"current" doc:"The item as it stands now."`
}

type removedJSON struct {
	_      struct{} `doc:"What became of an item."`
	Became string   `json:"became" enum:"deleted,archived" doc:"archived: others refer to it."`
}

type archiveJSON struct {
	_        struct{} `doc:"Takes an item out of use, or back into it."`
	Revision int64    `json:"revision" minimum:"1" doc:"The one that was read."`
	Archived bool     `json:"archived" doc:"What it is to be."`
}

type importedJSON struct {
	_       struct{} `doc:"What an import did."`
	Added   int      `json:"added" minimum:"0" doc:"Items that are new."`
	Changed int      `json:"changed" minimum:"0" doc:"Items that are otherwise than before."`
	Same    int      `json:"same" minimum:"0" doc:"Items that are as before."`
	Removed int      `json:"removed" minimum:"0" doc:"Items that are gone."`
}

type workOutJSON struct {
	_           struct{}               `doc:"What is to be worked out of a product, which need not be in the catalogue."`
	Product     catalogProductSentJSON `json:"product"`
	Rate        string                 `json:"rate,omitempty" doc:"Such as 180 kg/ha."`
	PlantsPerM2 float64                `json:"plants_per_m2,omitempty" minimum:"0" maximum:"10000" doc:"Of a seed: the stand that is wanted."`
	SurvivalPct float64                `json:"survival_pct,omitempty" minimum:"0" maximum:"100" doc:"Of those that germinate, how many come up and live."`
	RowSpacingM float64                `json:"row_spacing_m,omitempty" minimum:"0" maximum:"10" doc:"Between rows."`
}

type workedOutJSON struct {
	_           struct{}        `doc:"What follows. Null: not known."`
	Composition compositionJSON `json:"composition"`
	SeedsPerM2  *float64        `json:"seeds_per_m2" minimum:"0" doc:"For the stand, or of the rate."`
	SeedKgPerM2 *float64        `json:"seed_kg_per_m2" minimum:"0" doc:"The same as a mass."`
	SpacingM    *float64        `json:"spacing_m" minimum:"0" doc:"Between two seeds of a row."`
	NKgPerM2    *float64        `json:"n_kg_per_m2" minimum:"0" doc:"Nitrogen that the rate puts on the ground."`
	P2O5KgPerM2 *float64        `json:"p2o5_kg_per_m2" minimum:"0" doc:"Phosphate as P2O5."`
	K2OKgPerM2  *float64        `json:"k2o_kg_per_m2" minimum:"0" doc:"Potash as K2O."`
	SKgPerM2    *float64        `json:"s_kg_per_m2" minimum:"0" doc:"Sulphur."`
	PKgPerM2    *float64        `json:"p_kg_per_m2" minimum:"0" doc:"Phosphorus in the phosphate."`
	KKgPerM2    *float64        `json:"k_kg_per_m2" minimum:"0" doc:"Potassium in the potash."`
	CostPerM2   *float64        `json:"cost_per_m2" minimum:"0" doc:"Of the rate, in currency."`
	Currency    *string         `json:"currency" doc:"Of the product's price."`
}
