package main

import (
	"slices"
	"strings"

	"github.com/alecthomas/kong"
)

// What the environment may tell. It is set once for all commands, so it tells only what
// means the same in each that takes it: the volume of a joint must not become that of a
// rig.
var (
	// ofTheShop is the same for all commands.
	ofTheShop = []string{
		"config", "bench", "listen", "token", "host", "tls-cert", "tls-key", "ledger", "copies", "gauge",
		"hose", "stoppers", "valve", "ambient", "temperature", "at",
	}
	// ofTheJoint tells of what lies on the bench; see measuring.
	ofTheJoint = []string{
		"volume", "volume-u", "bore", "limit", "span-u", "joint", "section", "closure", "when", "ticket", "replugged",
	}
	// measuring are the commands that measure a joint.
	measuring = []string{"serve", "demo", "hold", "fit"}
)

// environment lets BORETIGHT_VOLUME_U and its like stand for flags that are not given.
func environment() kong.Option {
	return kong.PostBuild(func(k *kong.Kong) error {
		for _, command := range k.Model.Children {
			allowed := ofTheShop
			if slices.Contains(measuring, command.Name) {
				allowed = slices.Concat(ofTheShop, ofTheJoint)
			}
			_ = kong.Visit(command, func(v kong.Visitable, next kong.Next) error {
				if flag, ok := v.(*kong.Flag); ok && slices.Contains(allowed, flag.Name) && !asksFor(command, flag) {
					name := "BORETIGHT_" + strings.ToUpper(strings.ReplaceAll(flag.Name, "-", "_"))
					flag.Envs = []string{name}
					flag.Tag.Envs = []string{name}
				}
				return next(nil)
			})
		}
		return nil
	})
}

// asksFor reports whether a flag asks for something in this command, whatever the same
// name tells of the shop in others: ports --listen is no address.
func asksFor(command *kong.Node, flag *kong.Flag) bool {
	return command.Name == "ports" && flag.Name == "listen"
}
