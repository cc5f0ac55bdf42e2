"""The maker of test walks: from a walk file to speech, timed words and answers, and for the demo walk a filmed hall with its truth.

A tool for developers, never imported by the product: piper-tts (GPL) and moderngl are needed only here.
"""
