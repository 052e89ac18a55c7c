package main

import (
	"strings"
	_ "time/tzdata" // zones of the world, for machines that have none

	"boretight/internal/config"
	"boretight/internal/web"
)

// houseOf is what the shop has chosen, as pages take it.
func houseOf(s config.Shop) (func() web.House, error) {
	location, err := s.Location()
	if err != nil {
		return nil, err
	}
	h := web.House{Name: s.Name, Address: strings.Join(s.AddressLines(), "\n"), Units: s.Units(), Location: location, Holds: s.Holds}
	return func() web.House { return h }, nil
}
