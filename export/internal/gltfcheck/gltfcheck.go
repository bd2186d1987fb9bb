// Package gltfcheck runs the official glTF validator of the format's working
// group (npm package gltf-validator) in tests.
package gltfcheck

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

const script = `
const fs = require('fs'), v = require('gltf-validator');
v.validateBytes(new Uint8Array(fs.readFileSync(process.argv[1])), {maxIssues: 50})
 .then(r => console.log(JSON.stringify(r.issues)), e => { console.error(e); process.exit(1); });`

// Valid fails the test if the validator finds anything in a GLB file: errors,
// warnings or notes. Node finds the validator through NODE_PATH; without it the
// test is skipped, or fails when TUCKFINGER_NEED_TOOLS=1.
func Valid(t *testing.T, data []byte) {
	t.Helper()
	missing := func(why string) {
		if os.Getenv("TUCKFINGER_NEED_TOOLS") == "1" {
			t.Fatal(why)
		}
		t.Skip(why)
	}
	if _, err := exec.LookPath("node"); err != nil {
		missing("node is not installed")
	}
	if exec.Command("node", "-e", "require('gltf-validator')").Run() != nil {
		missing("node does not find gltf-validator; install it with npm and point NODE_PATH at its node_modules")
	}
	file := filepath.Join(t.TempDir(), "scene.glb")
	if err := os.WriteFile(file, data, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("node", "-e", script, file).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var got struct{ NumErrors, NumWarnings, NumInfos int }
	if err := json.Unmarshal(out, &got); err != nil || !strings.Contains(string(out), "numErrors") {
		t.Fatalf("%v\n%s", err, out)
	}
	if got.NumErrors+got.NumWarnings+got.NumInfos > 0 {
		t.Errorf("%s", out)
	}
}
