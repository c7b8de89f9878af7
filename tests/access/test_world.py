import collections, json, time
from tests.access.addresses import patterns, address
from tests.access.asking import ACTORS, Asker
def test_w(world):
    found={}
    t=time.time()
    for actor in ACTORS:
        a=Asker(world,actor)
        for name in patterns():
            for m in ("GET","POST"):
                t1=time.time()
                r=a.ask(m,address(world.north,name))
                found.setdefault(name,{}).setdefault(m,{})[actor]=r.status_code
                if r.status_code>=500: print(actor,name,m,r.content[:200])
                if time.time()-t1>1: print("slow",name,m,actor,time.time()-t1)
    print(time.time()-t)
    json.dump(found,open("/tmp/x/d6b/found.json","w"))
