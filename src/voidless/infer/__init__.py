"""
What the results of a campaign say.

    table                observations -> build means, scatter within builds, bounds
    transform, nuisance  scale of a response; exposure, humidity, order, sessions
    prior                the physics expectation as learning sees it
    kernel, gp, hyper    Gaussian process, its likelihood, its hyper-parameters
    censor, failure      bounds and failed builds
    evidence             left-out builds; weights of the rivals with and without physics
    assemble, model      rows -> calibrated rivals -> `fit_model`
    learned, output      the fitted model; one response of it
    deck, sampling, belief   luck of draws, joint draws; a model that believes an expected result
    criteria, search     specifications on draws; candidate points
    question, window     what is asked; the window
    promising, recipe    points worth judging with care; the recipe among them
    blocking, hopeless   what blocks; what to name then
    tolerance, box, front   how far settings may move alone and together; what another limit would cost
    propose, worth, ahead, stop   the next builds: what they may be, what they do to the recipe; whether to go on
    terms, linear, mixed polynomial terms, least squares, mixed model
    confounding, classical, paths, shares, effects   what matters, drifts, cannot be told apart
    swapped, torn        two builds whose values changed places | a build whose specimens lie apart
    ratio                the ratio of two mean strengths

Callers import from the files; this one imports nothing.
"""
