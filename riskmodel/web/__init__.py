"""The local app: estimate, plan and counsel in a browser on the same machine; nothing leaves it.

Pages are rendered here and work with scripts off; one small script of our own saves a click. The app listens on the
loopback address only, and every request passes the guard (`riskmodel.web.guard`).
"""
