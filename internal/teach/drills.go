package teach

func (w *writer) drills(p *page, news []New) []Drill { return nil }
