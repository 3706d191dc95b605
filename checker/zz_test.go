package checker
import ("testing";"fmt";"time";"os")
func TestZZ(t *testing.T){ s:=time.Now(); f:=Run(os.DirFS(os.Getenv("KBDIR"))); fmt.Println(time.Since(s), len(f)); for _,d:=range f {fmt.Println(d)} }
