"""
The physics twin: settings, material and machine to predicted responses with uncertainty.

    parameters.py  what nobody knows exactly: each uncertain constant with its prior
    links.py       scales on which responses are spread, and the twin's own error on them
    ground.py      facts of material and machine in SI, and the assumed constants
    context.py     what is printed and measured: sites, plate, exposure
    state.py       settings, facts, context and parameters as the stages get them
    melt.py        stage: melt temperature, residence, water, bubbles
    heat.py        stage: temperature of the built body, healing of the welds
    history.py     heat history of both kinds of weld, in closed form
    fill.py        stage: voids and contact
    light.py       stage: clarity, haze, transmittance, colour
    deposit.py     melt over room, layer by layer, of any moves (deposit_faults.py: sections and enclosed gaps)
    bead_fill.py   the deposit map along each bead
    body.py        stage: strength, impact and size
    shape.py       what hangs, coarse
    limits.py      the highest honest rate
    chain.py       the stages in order; responses by name
    ranges.py      where the models were never checked, in plain sentences
    explain.py     where the loss comes from
    advice.py      what to change first
    fast.py        `predict`: means, bands, ranges, explanation
    learnable.py   which parameters a campaign may learn, and the error then left
    prior.py       `twin_prior`: the twin as a prior that a campaign calibrates

Nothing here has been validated on a copolyester; bands are meant to be wide.
"""
