"""A plain reader and stepper for small boxes in which things move and water flows.

It is written from the rules alone and takes nothing from circuitcheck, so that the two can be held against each
other. It is as naive as can be: whenever anything has changed, the whole box is read afresh.

* `things`: what a box is made of; `power`: what a box as it stands gives to whom; `world`: a box at one moment.
* `changes`: what one change sets off; `strokes`: pistons; `water`: water; `moments`: the moments of one gt.
* `runs`: all histories that unknown orders allow.
* `boxes`: random boxes; `printing`: a box in the drawing language.
"""
