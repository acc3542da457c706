package engrave

// Words under the tune.

// underWords puts the signs of loudness of an upper staff that is sung above the lower
// one: between the staves still, below the words. The library lays signs and words of one
// staff out apart, and a hairpin would go through the tops of the letters.
func underWords(part *element) {
	if stavesOf(part) != 2 {
		return
	}
	sung := false
	for _, m := range part.kids {
		for _, e := range m.kids {
			sung = sung || e.name == "note" && e.kid("lyric") != nil && e.value("staff") != "2"
		}
	}
	if !sung {
		return
	}
	for _, m := range part.kids {
		for _, e := range m.kids {
			typ := e.kid("direction-type")
			if e.name != "direction" || e.value("staff") == "2" || e.get("placement") == "above" || typ == nil || typ.kid("dynamics") == nil && typ.kid("wedge") == nil {
				continue
			}
			e.set("placement", "above")
			if staff := e.kid("staff"); staff != nil {
				staff.text = "2"
			} else {
				e.kids = append(e.kids, &element{name: "staff", text: "2", line: e.line, col: e.col})
			}
		}
	}
}
