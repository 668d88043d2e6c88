"""The language server: the Language Server Protocol (version 3.17) on one side, the analysis of texts on the other."""

from __future__ import annotations

import os

from lsprotocol import types
from pygls.exceptions import JsonRpcInvalidParams

from circuitcheck.diagnostics import Span
from circuitcheck.editor.analysis import Analysis, Entry, outline
from circuitcheck.editor.completion import offers
from circuitcheck.editor.hover import hover
from circuitcheck.editor.renaming import CannotRename, renamed
from circuitcheck.editor.session import CircuitServer, path_of, uri_of
from circuitcheck.language.layout import laid_out
from circuitcheck.language.mentions import Mention
from circuitcheck.report.lines import safe

SYMBOLS = {
    "check": types.SymbolKind.Method,
    "always": types.SymbolKind.Event,
    "never": types.SymbolKind.Event,
    "define": types.SymbolKind.Class,
    "given": types.SymbolKind.Constant,
    "output": types.SymbolKind.Interface,
}
KINDS = {
    "word": types.CompletionItemKind.Keyword,
    "option": types.CompletionItemKind.Property,
    "definition": types.CompletionItemKind.Class,
    "rule": types.CompletionItemKind.Reference,
    "setting": types.CompletionItemKind.Constant,
    "given value": types.CompletionItemKind.Constant,
    "repeated value": types.CompletionItemKind.Constant,
}


def serve(root: str = "") -> None:
    """Speaks with an editor over standard input and output until it says good-bye."""
    made(root).start_io()


def made(root: str = "") -> CircuitServer:
    """A server with all that it answers."""
    server = CircuitServer(root)
    _follow(server)
    _answer(server)
    return server


def _follow(server: CircuitServer) -> None:
    @server.feature(types.TEXT_DOCUMENT_DID_OPEN)
    def opened(params: types.DidOpenTextDocumentParams) -> None:
        server.changed(params.text_document.uri)
        server.verify(params.text_document.uri)

    @server.feature(types.TEXT_DOCUMENT_DID_CHANGE)
    def changed(params: types.DidChangeTextDocumentParams) -> None:
        server.changed(params.text_document.uri)

    @server.feature(types.TEXT_DOCUMENT_DID_SAVE)
    def saved(params: types.DidSaveTextDocumentParams) -> None:
        server.verify(params.text_document.uri)

    @server.feature(types.SHUTDOWN)
    async def ended(_params: None) -> None:
        await server.ended()

    @server.feature(types.TEXT_DOCUMENT_DID_CLOSE)
    def closed(params: types.DidCloseTextDocumentParams) -> None:
        server.closed(params.text_document.uri)


def _answer(server: CircuitServer) -> None:
    @server.feature(types.TEXT_DOCUMENT_HOVER)
    def hovered(params: types.HoverParams) -> types.Hover | None:
        analysis, mention = server.mention(params.text_document.uri, params.position)
        if mention is None:
            return None
        text = "\n".join(safe(row) for row in hover(analysis, mention))
        return types.Hover(types.MarkupContent(types.MarkupKind.PlainText, text), server.range(mention.span))

    @server.feature(types.TEXT_DOCUMENT_DEFINITION)
    def defined(params: types.DefinitionParams) -> list[types.Location]:
        analysis, mention = server.mention(params.text_document.uri, params.position)
        return [] if mention is None else [server.location(each) for each in _declared(server, analysis, mention)]

    @server.feature(types.TEXT_DOCUMENT_COMPLETION, types.CompletionOptions(trigger_characters=[" ", "."]))
    def completed(params: types.CompletionParams) -> types.CompletionList:
        uri = params.text_document.uri
        line, column = server.place(uri, params.position)
        found = offers(server.analysis(uri), line, column)
        variable = types.CompletionItemKind.Variable
        items = [
            types.CompletionItem(each.text, kind=KINDS.get(each.what, variable), detail=each.meaning or each.what)
            for each in found
        ]
        return types.CompletionList(is_incomplete=False, items=items)

    @server.feature(types.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
    def outlined(params: types.DocumentSymbolParams) -> list[types.DocumentSymbol]:
        return [_symbol(server, each) for each in outline(server.analysis(params.text_document.uri))]

    @server.feature(types.TEXT_DOCUMENT_FORMATTING)
    def formatted(params: types.DocumentFormattingParams) -> list[types.TextEdit]:
        document = server.workspace.get_text_document(params.text_document.uri)
        laid, mistakes = laid_out(server.analysis(document.uri).text, path_of(document.uri))
        if mistakes or laid == document.source:
            return []
        whole = types.Range(types.Position(0, 0), types.Position(len(document.lines) + 1, 0))
        return [types.TextEdit(whole, laid)]

    _answer_renaming(server)


def _answer_renaming(server: CircuitServer) -> None:
    @server.feature(types.TEXT_DOCUMENT_PREPARE_RENAME)
    def prepared(params: types.PrepareRenameParams) -> types.Range | None:
        _, mention = server.mention(params.text_document.uri, params.position)
        return None if mention is None else server.range(mention.span)

    @server.feature(types.TEXT_DOCUMENT_RENAME, types.RenameOptions(prepare_provider=True))
    def rename(params: types.RenameParams) -> types.WorkspaceEdit:
        _, mention = server.mention(params.text_document.uri, params.position)
        if mention is None:
            raise JsonRpcInvalidParams("there is no name here")
        try:
            spans = renamed(mention, params.new_name, server.analyses())
        except CannotRename as refused:
            raise JsonRpcInvalidParams(str(refused)) from None
        edits: dict[str, list[types.TextEdit]] = {}
        for span in spans:
            edits.setdefault(uri_of(span.file), []).append(types.TextEdit(server.range(span), params.new_name))
        return types.WorkspaceEdit(changes=edits)


def _declared(server: CircuitServer, analysis: Analysis, mention: Mention) -> list[Span]:
    """Where a name is declared: of a row that several lines make, the line of this very member, if there is one."""
    home = analysis
    if os.path.normpath(analysis.path) != mention.key.file:
        home = server.analysis(uri_of(mention.key.file))
    found = home.declarations(mention.key)
    exact = [each for each in found if each.whole == mention.whole]
    return [each.span for each in exact or found]


def _symbol(server: CircuitServer, entry: Entry) -> types.DocumentSymbol:
    name = server.range(entry.span)
    whole = types.Range(types.Position(name.start.line, 0), types.Position(max(entry.last_line - 1, name.end.line), 0))
    if whole.end.line == name.end.line:
        whole = types.Range(whole.start, name.end)
    kind = SYMBOLS.get(entry.what, types.SymbolKind.Variable)
    inner = [_symbol(server, each) for each in entry.inner]
    return types.DocumentSymbol(safe(entry.name) or entry.what, kind, whole, name, detail=entry.what, children=inner)
