package server

// The JSON shapes. openapi.json describes each member.

type stateJSON struct {
	Version    string         `json:"version"`
	Started    *string        `json:"started"`
	Time       *string        `json:"time"`
	Timezone   string         `json:"timezone"`
	Events     uint64         `json:"events"`
	GNSS       gnssJSON       `json:"gnss"`
	Controller controllerJSON `json:"controller"`
	Machine    machineJSON    `json:"machine"`
	Tanks      []tankJSON     `json:"tanks"`
	Operation  *operationJSON `json:"operation"`
	Totals     totalsJSON     `json:"totals"`
	Recording  recordingJSON  `json:"recording"`
	Sources    []sourceJSON   `json:"sources"`
	Alarms     []alarmJSON    `json:"alarms"`
	Shown      []shownJSON    `json:"shown"`
}

type gnssJSON struct {
	Fixes          uint64   `json:"fixes"`
	AgeS           *float64 `json:"age_s"`
	Time           *string  `json:"time"`
	Quality        *string  `json:"quality"`
	LatDeg         *float64 `json:"lat_deg"`
	LonDeg         *float64 `json:"lon_deg"`
	SpeedMPS       *float64 `json:"speed_mps"`
	Satellites     *int     `json:"satellites"`
	HDOP           *float64 `json:"hdop"`
	CorrectionAgeS *float64 `json:"correction_age_s"`
}

type controllerJSON struct {
	Lines    int      `json:"lines"`
	Reports  int      `json:"reports"`
	Rejected int      `json:"rejected"`
	AgeS     *float64 `json:"age_s"`
}

type machineJSON struct {
	HeadingDeg          *float64     `json:"heading_deg"`
	ImplementHeadingDeg *float64     `json:"implement_heading_deg"`
	Bar                 [][2]float64 `json:"bar"`
	Sections            []string     `json:"sections"`
	SectionsMetered     []string     `json:"sections_metered"`
}

type tankJSON struct {
	Tank        int      `json:"tank"`
	Product     string   `json:"product"`
	Unit        *string  `json:"unit"`
	RatePerM2   *float64 `json:"rate_per_m2"`
	TargetPerM2 *float64 `json:"target_per_m2"`
	Level       *float64 `json:"level"`
	Capacity    *float64 `json:"capacity"`
}

type operationJSON struct {
	Field     string        `json:"field"`
	Operation string        `json:"operation"`
	Area      areaJSON      `json:"area"`
	Products  []productJSON `json:"products"`
}

type areaJSON struct {
	GrossM2     float64  `json:"gross_m2"`
	CoveredM2   float64  `json:"covered_m2"`
	OverlapM2   float64  `json:"overlap_m2"`
	SkipM2      *float64 `json:"skip_m2"`
	RemainingM2 *float64 `json:"remaining_m2"`
	OutsideM2   *float64 `json:"outside_m2"`
}

type productJSON struct {
	Tank    int      `json:"tank"`
	Name    string   `json:"name"`
	Unit    string   `json:"unit"`
	Applied *float64 `json:"applied"`
	AreaM2  float64  `json:"area_m2"`
}

type totalsJSON struct {
	WorkingS         float64 `json:"working_s"`
	DistanceM        float64 `json:"distance_m"`
	WorkingDistanceM float64 `json:"working_distance_m"`
	Gaps             int     `json:"gaps"`
	GapS             float64 `json:"gap_s"`
	Marks            int     `json:"marks"`
	ClockSteps       int     `json:"clock_steps"`
}

type recordingJSON struct {
	Session   *string `json:"session"`
	Recording bool    `json:"recording"`
	Bytes     int64   `json:"bytes"`
	FreeBytes *uint64 `json:"free_bytes"`
	Error     *string `json:"error"`
}

type sourceJSON struct {
	Name       string  `json:"name"`
	Stream     string  `json:"stream"`
	Address    string  `json:"address"`
	Up         bool    `json:"up"`
	Since      *string `json:"since"`
	Reconnects uint64  `json:"reconnects"`
	Bytes      uint64  `json:"bytes"`
	Lines      uint64  `json:"lines"`
	Baud       *int    `json:"baud"`
	LastError  *string `json:"last_error"`
}

type alarmJSON struct {
	Alarm    string  `json:"alarm"`
	Subject  *string `json:"subject"`
	Severity string  `json:"severity"`
	Text     string  `json:"text"`
	Since    *string `json:"since"`
}

// shownJSON is one figure as text.
type shownJSON struct {
	Group string `json:"group"`
	Name  string `json:"name"`
	Value string `json:"value"`
}

type sourcesJSON struct {
	Sources []sourceJSON `json:"sources"`
}

type alarmsJSON struct {
	Alarms []alarmJSON `json:"alarms"`
}

type sessionsJSON struct {
	Sessions []sessionJSON `json:"sessions"`
}

type sessionJSON struct {
	Name  string  `json:"name"`
	Start *string `json:"start"`
	End   *string `json:"end"`
	Bytes int64   `json:"bytes"`
	State string  `json:"state"`
}

type alarmEventJSON struct {
	Seq    uint64    `json:"seq"`
	Time   *string   `json:"time"`
	Raised bool      `json:"raised"`
	Alarm  alarmJSON `json:"alarm"`
}

type markEventJSON struct {
	Seq  uint64   `json:"seq"`
	Time *string  `json:"time"`
	Mark markJSON `json:"mark"`
}

type markJSON struct {
	Kind   string   `json:"kind"`
	Note   string   `json:"note"`
	Time   *string  `json:"time"`
	LonDeg *float64 `json:"lon_deg"`
	LatDeg *float64 `json:"lat_deg"`
}

type missedJSON struct {
	Notices uint64 `json:"notices"`
}

type healthJSON struct {
	Status string   `json:"status"`
	AgeS   *float64 `json:"age_s"`
	Error  *string  `json:"error"`
}

type faultJSON struct {
	Member string `json:"member"`
	Got    string `json:"got"`
	Want   string `json:"want"`
}
