package quantity

// Spellings returns, for each dimension, every spelling of every unit in the form in
// which they are compared, and the units it prints in and explains.
func Spellings() (spellings, shown, hinted map[string][]string) {
	spellings, shown, hinted = map[string][]string{}, map[string][]string{}, map[string][]string{}
	for _, d := range []*dimension{
		&pressureUnits, &volumeUnits, &lengthUnits, &temperatureUnits, &ratioUnits, &throughputUnits, &leakUnits,
	} {
		for _, u := range d.units {
			for _, s := range append([]string{u.name}, u.also...) {
				spellings[d.name] = append(spellings[d.name], fold(s))
			}
		}
		for _, c := range d.shown {
			shown[d.name] = append(shown[d.name], fold(c.unit))
		}
		for _, h := range d.hints {
			hinted[d.name] = append(hinted[d.name], fold(h.unit))
		}
	}
	return spellings, shown, hinted
}
