package catalog

// Closure is what has to be done to a joint so that it holds air.
type Closure struct {
	Stopper []string `json:"stopper"` // ends that take a stopper
	Plug    []string `json:"plug"`    // open holes
	Press   []string `json:"press"`   // seats whose keys stand open
	Rest    []string `json:"rest"`    // seats left to their springs
}

// DefaultClosure closes the whole joint with the least done to it: every end and open
// hole stopped, keys that stand open pressed, all others left to their springs as in
// playing.
func (j Joint) DefaultClosure() Closure {
	c := Closure{Stopper: []string{}, Plug: []string{}, Press: []string{}, Rest: []string{}}
	for _, e := range j.Ends {
		if e.Stoppered() {
			c.Stopper = append(c.Stopper, e.Name)
		}
	}
	for _, h := range j.Holes {
		c.Plug = append(c.Plug, h.Name)
	}
	for _, s := range j.Seats {
		if s.Stands.Value == Open {
			c.Press = append(c.Press, s.Name)
		} else {
			c.Rest = append(c.Rest, s.Name)
		}
	}
	return c
}
