"""Git hooks: a commit is proofed before it is made, a push before it is accepted and published.

``setup`` puts the hooks into a repository; ``commits``, ``pushes`` and ``serving`` are what they
do. A hook works on what git is about to record, never on the files that lie in the work tree.
"""
