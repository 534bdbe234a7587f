"""A made-up damper on a made-up bench: demo runs, and the truth that the checks hold the analysis against.

The damper is a plant with chamber pressures as states; every fault is a change to the plant, and every reading comes
from the simulation. Nothing is drawn onto the output.
"""
