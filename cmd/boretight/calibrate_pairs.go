package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"boretight/internal/rig"
)

// pairColumns are the names of the columns of a file of pairs; the first two must be there.
var pairColumns = []string{"reference_pa", "reading_pa", "reference_u_pa", "reading_u_pa", "course"}

// readPairs reads pairs of reference and reading (RFC 4180, with a header; columns in any
// order, others are passed over).
func readPairs(r io.Reader) ([]rig.Pair, error) {
	rows := csv.NewReader(r)
	rows.TrimLeadingSpace = true
	header, err := rows.Read()
	if errors.Is(err, io.EOF) {
		return nil, errors.New("the file is empty")
	}
	if err != nil {
		return nil, err
	}
	header[0] = strings.TrimPrefix(header[0], "\ufeff")
	place := make([]int, len(pairColumns))
	for i, name := range pairColumns {
		place[i] = slices.IndexFunc(header, func(h string) bool { return strings.TrimSpace(h) == name })
		if i < 2 && place[i] < 0 {
			return nil, fmt.Errorf("there is no column %s: want a header such as %s", name, strings.Join(pairColumns, ","))
		}
	}
	var pairs []rig.Pair
	for {
		row, err := rows.Read()
		if errors.Is(err, io.EOF) {
			return pairs, nil
		}
		if err != nil {
			return nil, err
		}
		p, err := pairOf(row, place)
		if err != nil {
			line, _ := rows.FieldPos(0)
			return nil, fmt.Errorf("line %d: %w", line, err)
		}
		pairs = append(pairs, p)
	}
}

// pairOf reads one row; place says where each of the columns is, -1 for one that is not
// there.
func pairOf(row []string, place []int) (p rig.Pair, err error) {
	for i, number := range []*float64{&p.Reference, &p.Reading, &p.ReferenceU, &p.ReadingU} {
		if place[i] < 0 || i >= 2 && row[place[i]] == "" {
			continue
		}
		*number, err = strconv.ParseFloat(strings.TrimSpace(row[place[i]]), 64)
		if err != nil {
			return p, fmt.Errorf("%s: %q is no number", pairColumns[i], row[place[i]])
		}
	}
	if p.ReferenceU < 0 || p.ReadingU < 0 {
		return p, errors.New("an uncertainty is below zero")
	}
	if at := place[4]; at >= 0 {
		p.Course = rig.Course(strings.TrimSpace(row[at]))
	}
	if p.Course != "" && p.Course != rig.Up && p.Course != rig.Down {
		return p, fmt.Errorf("course: %q, want up, down or nothing", p.Course)
	}
	return p, nil
}
