"""The site's settings: each stated once, here."""

NAME = "Second Battery Field Book"
SHORT_NAME = "Battery Book"
LANGUAGE = "en"

# Everything comes from the site itself; WebAssembly is the one thing that runs beyond its scripts.
CSP = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self' 'wasm-unsafe-eval'",
        "style-src 'self'",
        "img-src 'self' data:",
        "font-src 'self'",
        "connect-src 'self'",
        "worker-src 'self'",
        "manifest-src 'self'",
        "form-action 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
