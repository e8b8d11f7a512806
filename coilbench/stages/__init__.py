"""The stages of the bench, without screen or lines: texts and saved facts in, engines asked, a state out.

Panes and commands draw what a stage says; nobody else writes facts or events.
"""
