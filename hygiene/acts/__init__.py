"""What a person does, each as one act: check the rules on what stands, then write.

Every door leads here: a command, an import, the demonstration year. An act is handed
an open ``Writing``, so that several make one transaction.
"""
