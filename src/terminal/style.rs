//! How a page may look: decided once in `main`, passed to every renderer.

use colored::Colorize as _;

/// Width, colour and characters of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Style {
    /// Columns.
    pub width: usize,
    /// Paint with colours; what colour says is always said in words too.
    pub colour: bool,
    /// Draw with more than ASCII.
    pub unicode: bool,
}

impl Style {
    /// ASCII without colour.
    #[must_use]
    pub fn plain(width: usize) -> Self {
        Self {
            width,
            colour: false,
            unicode: false,
        }
    }

    /// A finished page with our own signs in ASCII where that is asked for; what an author wrote stays.
    #[must_use]
    pub fn signs(&self, text: String) -> String {
        if self.unicode { text } else { text.replace('±', "+/-") }
    }

    /// A heading.
    #[must_use]
    pub fn strong(&self, text: &str) -> String {
        if self.colour {
            text.bold().to_string()
        } else {
            text.to_owned()
        }
    }

    /// Something less important.
    #[must_use]
    pub fn faint(&self, text: &str) -> String {
        if self.colour {
            text.dimmed().to_string()
        } else {
            text.to_owned()
        }
    }

    /// A danger.
    #[must_use]
    pub fn danger(&self, text: &str) -> String {
        if self.colour {
            text.red().bold().to_string()
        } else {
            text.to_owned()
        }
    }

    /// A caution.
    #[must_use]
    pub fn caution(&self, text: &str) -> String {
        if self.colour {
            text.yellow().to_string()
        } else {
            text.to_owned()
        }
    }

    /// Something good.
    #[must_use]
    pub fn good(&self, text: &str) -> String {
        if self.colour {
            text.green().to_string()
        } else {
            text.to_owned()
        }
    }

    /// Something to do.
    #[must_use]
    pub fn action(&self, text: &str) -> String {
        if self.colour {
            text.cyan().bold().to_string()
        } else {
            text.to_owned()
        }
    }
}
