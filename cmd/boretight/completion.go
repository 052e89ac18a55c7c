package main

import (
	"context"

	kongcompletion "github.com/jotaen/kong-completion"
)

type completionCmd struct {
	Shell string `arg:"" enum:"bash,zsh,fish" help:"bash, zsh or fish."`
}

// Help shows an example.
func (completionCmd) Help() string {
	return `Example, for bash:
  boretight completion bash >> ~/.bashrc`
}

func (c *completionCmd) run(_ context.Context, a app) (status, error) {
	code := kongcompletion.Completion{Shell: c.Shell, Code: true}
	return done, code.Run(a.kong)
}
