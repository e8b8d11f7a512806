"""What the stages keep of a motor: one module a stage, named as the stage, with its ``FACT`` and its ``EVENT``.

A new stage's module is found by its name; nothing else has to be told of it.
"""
