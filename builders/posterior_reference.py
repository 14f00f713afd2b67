"""Write tests/fixtures/posterior/*.json: posterior means and sds by a general-purpose sampler.

Run it in a throw-away environment, since nothing else of the project needs the sampler:

    python3 -m venv somewhere && somewhere/bin/pip install numpyro
    somewhere/bin/python builders/posterior_reference.py

The model is written here a second time, from its formula, in another library; nothing of argentry
is imported. Each file holds the data, the priors and what the sampler found.
"""

from __future__ import annotations

import json
from pathlib import Path

import jax
import jax.numpy as jnp
import numpy as np
import numpyro
import numpyro.distributions as dist
from jax.scipy.special import log_ndtr
from numpyro.diagnostics import summary
from numpyro.infer import MCMC, NUTS

FOLDER = Path(__file__).resolve().parents[1] / "tests" / "fixtures" / "posterior"
MEMORY = 0.85

# name: plates, free, one-way, window conditions, levels, sessions, drift, seed
SETS = {
    "n30": (30, 2, 2, 1, 3, 0, 0.0, 11),
    "n100": (100, 3, 4, 2, 3, 15, 0.4, 12),
    "n200": (200, 10, 9, 6, 4, 0, 0.0, 13),
}


def priors(free, one_way, window, levels, sessions):
    return {
        "base": [[0.9], [0.5]],
        "gaps": [[float(np.log(0.7))] * (levels - 2), [0.5] * (levels - 2)],
        "free": [[0.0] * free, [0.5] * free],
        "one_way": [[-1.2] * one_way, [0.8] * one_way],
        "curve": [[-1.2] * window, [0.7] * window],
        "best": [[0.0] * window, [0.6] * window],
        "session": [[0.0] * sessions, [1.0] * sessions],
    }


def root(numbers):
    apart = np.abs(numbers[:, None] - numbers[None, :])
    return np.linalg.cholesky(MEMORY**apart + 1e-10 * np.eye(numbers.size))


def latent(part, data, xp):
    """Return eta and the variance of what is missing, straight from the formula."""
    free, ways, window = data["free"], data["one_way"], data["window"]
    x, v = data["mean"], data["variance"]  # per plate: value and 0, or moments where missing
    sign = np.where(np.arange(ways) % 2, 1.0, -1.0)
    xf, vf = x[:, :free], v[:, :free]
    xo, vo = x[:, free : free + ways], v[:, free : free + ways]
    xw, vw = x[:, free + ways :], v[:, free + ways :]
    effect, curve = sign * xp.exp(part["one_way"]), xp.exp(part["curve"])
    off = xw - part["best"]
    eta = part["base"][0] + xf @ part["free"] + xo @ effect
    eta = eta - ((off**2 + vw - data["usual"]) * curve).sum(1)
    if data["sessions"]:
        eta = eta + data["luck"] @ part["session"]
    doubt = vf @ part["free"] ** 2 + vo @ effect**2
    doubt = doubt + ((2 * vw**2 + 4 * vw * off**2) * curve**2).sum(1)
    assert window == xw.shape[1]
    return eta, doubt


def make(name):
    n, free, ways, window, levels, sessions, drift, seed = SETS[name]
    random = np.random.default_rng(seed)
    p = free + ways + window
    prior = priors(free, ways, window, levels, sessions)
    truth = {
        k: np.array(m) + np.array(s) * random.normal(size=len(m)) for k, (m, s) in prior.items()
    }
    full = random.normal(size=(n, p)).round(3)
    session = np.sort(random.integers(0, sessions, n)) if sessions else np.zeros(n, int)
    session = np.unique(session, return_inverse=True)[1]
    kinds = int(session.max()) + 1 if sessions else 0
    prior["session"] = [[0.0] * kinds, [1.0] * kinds]
    truth["session"] = truth["session"][:kinds]
    luck = drift * root(np.arange(kinds))[session] if sessions else np.zeros((n, 0))
    data = {
        "free": free, "one_way": ways, "window": window, "sessions": kinds, "luck": luck,
        "usual": 0.7, "mean": full, "variance": np.zeros_like(full),
    }  # fmt: skip
    eta, _ = latent(truth, data, np)
    gaps = np.exp(truth["gaps"])
    cuts = np.append(-np.cumsum(gaps[::-1])[::-1], 0.0)
    level = ((eta + random.normal(size=n))[:, None] > cuts).sum(1)
    low, high = level.copy(), level.copy()
    vague = (random.random(n) < 0.1) & (level < levels - 1)  # known to be bad, not how bad
    low[vague], high[vague] = 0, levels - 2
    missing = random.random((n, p)) < 0.2
    x = np.where(missing, np.nan, full)
    count = (~missing).sum(0) + 4.0
    mean = np.nansum(x, 0) / count
    variance = (np.nansum((x - mean) ** 2, 0) + 2.0) / count
    data["mean"] = np.where(missing, mean, full)
    data["variance"] = np.where(missing, variance, 0.0)
    return data, prior, low, high, x, session, mean, variance, drift


def sampler(data, prior, low, high, weight=1.0, *, warmup=1500, draws=5000, accept=0.95):
    """Return a sampler of the model; short steps, since a reference shall not diverge."""
    data = {k: jnp.asarray(v) if isinstance(v, np.ndarray) else v for k, v in data.items()}

    def model():
        part = {
            k: numpyro.sample(k, dist.Normal(jnp.array(m), jnp.array(s)).to_event(1))
            if m
            else jnp.zeros(0)
            for k, (m, s) in prior.items()
        }
        eta, doubt = latent(part, data, jnp)
        scale = jnp.sqrt(1.0 + doubt)
        cuts = jnp.append(-jnp.cumsum(jnp.exp(part["gaps"])[::-1])[::-1], 0.0)
        edges = jnp.concatenate([jnp.array([-1e3]), cuts, jnp.array([1e3])])
        a, b = (eta - edges[low]) / scale, (eta - edges[high + 1]) / scale
        turn = a + b > 0
        near, far = jnp.where(turn, -b, a), jnp.where(turn, -a, b)
        log_p = log_ndtr(near) + jnp.log(-jnp.expm1(log_ndtr(far) - log_ndtr(near)))
        numpyro.factor("plates", (weight * log_p).sum())

    return MCMC(
        NUTS(model, target_accept_prob=accept), num_warmup=warmup, num_samples=draws, num_chains=4,
        chain_method="vectorized", progress_bar=False,
    )  # fmt: skip


def sample(data, prior, low, high, seed):
    run = sampler(data, prior, low, high)
    run.run(jax.random.PRNGKey(seed), extra_fields=("diverging",))
    found = summary(run.get_samples(group_by_chain=True))
    return found, int(run.get_extra_fields()["diverging"].sum())


def main():
    numpyro.enable_x64()
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, (*_, levels, _, _, seed) in SETS.items():
        data, prior, low, high, x, session, mean, variance, drift = make(name)
        found, diverging = sample(data, prior, low, high, seed)
        rhat = max(float(np.max(v["r_hat"])) for v in found.values())
        effective = min(float(np.min(v["n_eff"])) for v in found.values())
        print(name, f"rhat {rhat:.4f}, effective {effective:.0f}, divergences {diverging}")
        out = {
            "made_by": f"builders/posterior_reference.py, NumPyro {numpyro.__version__}, JAX "
            f"{jax.__version__}, NUTS, 4 x 5000 draws; largest R-hat {rhat:.4f}, least effective "
            f"draws {effective:.0f}, divergences {diverging}",
            "free": data["free"], "one_way": data["one_way"], "window": data["window"],
            "levels": levels, "usual": data["usual"], "drift": drift,
            "prior": prior,
            "x": [[None if np.isnan(v) else float(v) for v in row] for row in x],
            "missing_mean": mean.round(9).tolist(), "missing_variance": variance.round(9).tolist(),
            "low": low.tolist(), "high": high.tolist(), "session": session.tolist(),
            "posterior_mean": {k: np.round(v["mean"], 5).tolist() for k, v in found.items()},
            "posterior_sd": {k: np.round(v["std"], 5).tolist() for k, v in found.items()},
        }  # fmt: skip
        (FOLDER / f"{name}.json").write_text(json.dumps(out) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
