package controller

// matched reads a line by the profile's RE2 expression. The expression sees the
// line without its checksum. A group that took no part, or took nothing, is a
// value that was not reported.
func (d *Decoder) matched(line []byte) *LineError {
	body, e := d.body(line)
	if e != nil {
		return e
	}
	at := d.profile.pattern.FindSubmatchIndex(body)
	if at == nil {
		return refuse(ReasonNoMatch, "", body, "a line that matches the profile's pattern")
	}
	group := func(i int) []byte {
		if at[2*i] < 0 {
			return nil
		}
		return trimBlanks(body[at[2*i]:at[2*i+1]])
	}
	some := false
	for i := range d.profile.columns {
		c := &d.profile.columns[i]
		raw := group(c.place.index)
		if len(raw) == 0 {
			continue
		}
		var from []byte
		if c.tank == 0 && c.field.perTank() {
			from = group(c.tankPlace.index)
		}
		if e := d.putColumn(c, from, raw); e != nil {
			return e
		}
		some = true
	}
	if !some {
		return nothingReported(body)
	}
	return nil
}

// putColumn stores the value of a column or group; from is the text that gives
// the tank's number, where the profile does not state it.
func (d *Decoder) putColumn(c *column, from, raw []byte) *LineError {
	tank := c.tank
	if tank == 0 && c.field.perTank() {
		var ok bool
		if tank, ok = tankNumber(from); !ok {
			return refuse(ReasonBadTank, c.tankPlace.name, from, "a tank number from 1 to 99")
		}
	}
	return d.put(c, tank, raw)
}

func nothingReported(body []byte) *LineError {
	return refuse(ReasonEmpty, "", body, "at least one value")
}
