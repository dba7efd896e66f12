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
