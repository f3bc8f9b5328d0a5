package signature

import (
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"runtime"
	"slices"

	"golang.org/x/crypto/ssh"
	"golang.org/x/crypto/ssh/agent"
)

// ErrNoAgent says that no ssh-agent runs here, or that it holds none of the keys.
var ErrNoAgent = errors.New("no ssh-agent here holds the key")

// windowsAgent is where OpenSSH for Windows listens.
const windowsAgent = `\\.\pipe\openssh-ssh-agent`

// AgentKey finds the first of these keys that the ssh-agent at a socket (SSH_AUTH_SOCK) can sign with, also one on a security key. Without
// one the error matches ErrNoAgent.
func AgentKey(socket string, keys ...ssh.PublicKey) (ssh.Signer, error) {
	signers, err := AgentKeys(socket)
	if err != nil {
		return nil, err
	}
	for _, key := range keys {
		if i := slices.IndexFunc(signers, func(s ssh.Signer) bool { return SameKey(s.PublicKey(), key) }); i >= 0 {
			return signers[i], nil
		}
	}
	return nil, ErrNoAgent
}

// AgentKeys lists all keys that the ssh-agent at a socket can sign with. Without an agent the error matches ErrNoAgent.
func AgentKeys(socket string) ([]ssh.Signer, error) {
	if socket == "" && runtime.GOOS == "windows" {
		socket = windowsAgent
	}
	if socket == "" {
		return nil, ErrNoAgent
	}
	conn, err := dialAgent(socket)
	if err != nil {
		return nil, fmt.Errorf("%w: %v", ErrNoAgent, err)
	}
	signers, err := agent.NewClient(conn).Signers()
	if err != nil {
		return nil, fmt.Errorf("ssh-agent: %w", err)
	}
	return signers, nil
}

// dialAgent connects for as long as the program runs: the agent signs when asked.
func dialAgent(socket string) (io.ReadWriter, error) {
	if runtime.GOOS == "windows" {
		return os.OpenFile(socket, os.O_RDWR, 0)
	}
	return net.Dial("unix", socket)
}
