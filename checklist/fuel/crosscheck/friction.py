# Reads lines "Re e/D" and prints "Churchill Colebrook Haaland Swamee-Jain" of the library fluids.
import sys
import fluids
from fluids.friction import friction_factor
for line in sys.stdin:
    re, ed = map(float, line.split())
    print(*(repr(friction_factor(Re=re, eD=ed, Method=m)) for m in ("Churchill_1977", "Colebrook", "Haaland", "Swamee_Jain_1976")))
print("fluids", fluids.__version__)
