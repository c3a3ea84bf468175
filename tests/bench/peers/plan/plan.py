# Own work of the project, under the project's licence; invented data only.
"""The shared semantics: reads an instance, prices a choice exactly (integer pence).  Used by every Python peer."""
LOW, FEE = 13500, 1200


class Plan:
    def __init__(self, path):
        self.sellers, self.offers = [], []
        for line in open(path):
            f = line.split()
            if f[0] == "plan":
                self.S, self.M, self.budget = map(int, f[1:])
            elif f[0] == "seller":
                v = list(map(int, f[2:]))
                self.sellers.append(dict(free=v[0], spend=v[1], off=v[2], bands=list(zip(v[4::2], v[5::2]))))
            else:
                self.offers.append(tuple(map(int, f[1:])))
        self.slots = [[o for o in self.offers if o[0] == s] for s in range(self.S)]

    def order(self, j, goods, weight, duty):
        """Landed cost of one seller's order: list total of its goods, total weight, total of its offers' duties."""
        s = self.sellers[j]
        net = goods - s["off"] if s["spend"] >= 0 and goods >= s["spend"] else goods
        freight = 0 if s["free"] >= 0 and goods >= s["free"] else next(p for up, p in s["bands"] if weight <= up)
        x = net + freight + (0 if net <= LOW else duty + FEE)
        return x + (x + 2) // 5          # VAT 20 %, half up

    def cost(self, choice):
        t = {}
        for _, j, p, w, d in choice:
            g = t.setdefault(j, [0, 0, 0])
            g[0] += p; g[1] += w; g[2] += d
        return sum(self.order(j, *g) for j, g in t.items()), sum(o[3] for o in choice)
