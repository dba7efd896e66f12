import "./bench.css";
import { StrictMode } from "react";
import { createRoot } from "react-dom/client";
import { App } from "./app.tsx";

const place = document.getElementById("bench");
if (place === null) throw new Error("the page has no place for the bench");
createRoot(place).render(
  <StrictMode>
    <App />
  </StrictMode>,
);

// the bench opens while the server is away, where the browser allows a keeper (this machine's own name, or https)
if ("serviceWorker" in navigator)
  navigator.serviceWorker.register("/bench/keeper.js", { scope: "/", type: "module" }).catch(() => {
    // then it needs the server to open, as any page
  });
