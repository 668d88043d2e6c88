"""The language server: the Language Server Protocol (version 3.17) on one side, the analysis of texts on the other."""

from __future__ import annotations

import contextlib
import sys
from typing import BinaryIO, cast

from lsprotocol import types
from pygls.exceptions import JsonRpcException, JsonRpcInvalidParams

from circuitcheck.checks.outcome import FAILING
from circuitcheck.diagnostics import Span
from circuitcheck.editor.analysis import Analysis, Entry, outline
from circuitcheck.editor.completion import offers
from circuitcheck.editor.documents import TooManyFiles
from circuitcheck.editor.first_cure import first_cure_apart
from circuitcheck.editor.hover import hover
from circuitcheck.editor.incoming import Incoming
from circuitcheck.editor.renaming import CannotRename, renamed
from circuitcheck.editor.session import CircuitServer
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
CURE = "Make the least change with which all holds"
FAILS = {each.name.lower() for each in FAILING}
"""What diagnostics of failing checks and claims have as their code."""
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
    # A stream of its own: the thread that reads ahead holds it until the process has ended.
    stream = open(sys.stdin.fileno(), "rb", closefd=False)  # noqa: SIM115
    made(root).start_io(cast(BinaryIO, Incoming(stream)))


def made(root: str = "") -> CircuitServer:
    """A server with all that it answers."""
    server = CircuitServer(root)
    _follow(server)
    _answer(server)
    return server


def _follow(server: CircuitServer) -> None:
    @server.feature(types.INITIALIZE)
    def began(_params: types.InitializeParams) -> None:
        server.begin()

    @server.feature(types.INITIALIZED)
    async def ready(_params: types.InitializedParams) -> None:
        await _watch_files(server)

    @server.feature(types.WORKSPACE_DID_CHANGE_WATCHED_FILES)
    def changed_elsewhere(params: types.DidChangeWatchedFilesParams) -> None:
        for change in params.changes:
            server.saved(change.uri)

    @server.feature(types.TEXT_DOCUMENT_DID_OPEN)
    def opened(params: types.DidOpenTextDocumentParams) -> None:
        server.opened(params.text_document.uri)

    @server.feature(types.TEXT_DOCUMENT_DID_CHANGE)
    def changed(params: types.DidChangeTextDocumentParams) -> None:
        server.changed(params.text_document.uri)

    @server.feature(types.TEXT_DOCUMENT_DID_SAVE)
    def saved(params: types.DidSaveTextDocumentParams) -> None:
        server.saved(params.text_document.uri)

    @server.feature(types.TEXT_DOCUMENT_DID_CLOSE)
    def closed(params: types.DidCloseTextDocumentParams) -> None:
        server.closed(params.text_document.uri)

    @server.feature(types.SHUTDOWN)
    async def ended(_params: None) -> None:
        await server.ended()


async def _watch_files(server: CircuitServer) -> None:
    """Asks the editor to tell of circuit files that something else has written, if it can."""
    workspace = server.client_capabilities.workspace
    watched = workspace.did_change_watched_files if workspace is not None else None
    if watched is None or not watched.dynamic_registration:
        return
    options = types.DidChangeWatchedFilesRegistrationOptions([types.FileSystemWatcher("**/*.circuit")])
    asked = types.Registration("circuits", types.WORKSPACE_DID_CHANGE_WATCHED_FILES, options)
    with contextlib.suppress(JsonRpcException):  # an editor may say that it can and refuse all the same
        await server.client_register_capability_async(types.RegistrationParams([asked]))


def _answer(server: CircuitServer) -> None:
    @server.feature(types.TEXT_DOCUMENT_HOVER)
    def hovered(params: types.HoverParams) -> types.Hover | None:
        analysis, mention = server.mention(params.text_document.uri, params.position)
        if mention is None:
            return None
        text = "\n".join(safe(row) for row in hover(analysis, mention))
        return types.Hover(
            types.MarkupContent(types.MarkupKind.PlainText, text),
            server.documents.range(params.text_document.uri, mention.span),
        )

    @server.feature(types.TEXT_DOCUMENT_DEFINITION)
    def defined(params: types.DefinitionParams) -> list[types.Location]:
        analysis, mention = server.mention(params.text_document.uri, params.position)
        found = [] if mention is None else _declared(server, analysis, mention)
        return [server.documents.location(each) for each in found]

    @server.feature(types.TEXT_DOCUMENT_COMPLETION, types.CompletionOptions(trigger_characters=[" ", "."]))
    def completed(params: types.CompletionParams) -> types.CompletionList:
        uri = params.text_document.uri
        found = offers(server.analysis(uri), *server.documents.place(uri, params.position))
        variable = types.CompletionItemKind.Variable
        items = [
            types.CompletionItem(each.text, kind=KINDS.get(each.what, variable), detail=safe(each.meaning or each.what))
            for each in found
        ]
        return types.CompletionList(is_incomplete=False, items=items)

    @server.feature(types.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
    def outlined(params: types.DocumentSymbolParams) -> list[types.DocumentSymbol]:
        uri = params.text_document.uri
        return [_symbol(server, uri, each) for each in outline(server.analysis(uri))]

    @server.feature(types.TEXT_DOCUMENT_FORMATTING)
    def formatted(params: types.DocumentFormattingParams) -> list[types.TextEdit]:
        analysis = server.analysis(params.text_document.uri)
        laid, mistakes = laid_out(analysis.text, analysis.path)
        if mistakes or laid == analysis.text:
            return []
        ends = "\r\n" if "\r\n" in analysis.typed else "\n"
        lines = server.documents.lines(params.text_document.uri)
        whole = types.Range(types.Position(0, 0), types.Position(len(lines), 0))
        return [types.TextEdit(whole, laid.replace("\n", ends))]

    _answer_renaming(server)
    _answer_curing(server)


def _answer_curing(server: CircuitServer) -> None:
    kinds = [types.CodeActionKind.QuickFix]
    options = types.CodeActionOptions(code_action_kinds=kinds, resolve_provider=True)

    @server.feature(types.TEXT_DOCUMENT_CODE_ACTION, options)
    def offered(params: types.CodeActionParams) -> list[types.CodeAction]:
        """Offers the search itself, which costs nothing until it is chosen."""
        failing = [each for each in params.context.diagnostics if each.code in FAILS]
        if not failing:
            return []
        uri = params.text_document.uri
        return [types.CodeAction(CURE, kind=types.CodeActionKind.QuickFix, diagnostics=failing, data=uri)]

    @server.feature(types.CODE_ACTION_RESOLVE)
    async def chosen(action: types.CodeAction) -> types.CodeAction:
        uri = str(action.data)
        analysis = server.analysis(uri)
        text, ends = analysis.text, "\r\n" if "\r\n" in analysis.typed else "\n"
        found = await first_cure_apart(text, analysis.path, server.root)
        changed = server.analysis(uri).text != text
        if found is None or changed:
            words = "no cure was found as quickly as it must be here: the command cure looks longer"
            if changed:
                words = "the text was changed while a cure was looked for: choose it again"
            server.window_show_message(types.ShowMessageParams(types.MessageType.Info, words))
            return action
        whole = types.Range(types.Position(0, 0), types.Position(len(server.documents.lines(uri)), 0))
        action.edit = types.WorkspaceEdit(changes={uri: [types.TextEdit(whole, found.text.replace("\n", ends))]})
        return action


def _answer_renaming(server: CircuitServer) -> None:
    @server.feature(types.TEXT_DOCUMENT_PREPARE_RENAME)
    def prepared(params: types.PrepareRenameParams) -> types.Range | None:
        _, mention = server.mention(params.text_document.uri, params.position)
        return None if mention is None else server.documents.range(params.text_document.uri, mention.span)

    @server.feature(types.TEXT_DOCUMENT_RENAME, types.RenameOptions(prepare_provider=True))
    def rename(params: types.RenameParams) -> types.WorkspaceEdit:
        _, mention = server.mention(params.text_document.uri, params.position)
        if mention is None:
            raise JsonRpcInvalidParams("there is no name here")
        try:
            spans = renamed(mention, params.new_name, server.documents.every_analysis())
        except (CannotRename, TooManyFiles) as refused:
            raise JsonRpcInvalidParams(safe(str(refused))) from None
        edits: dict[str, list[types.TextEdit]] = {}
        for span in spans:
            uri = server.documents.uri(span.file)
            edit = types.TextEdit(server.documents.range(uri, span), params.new_name)
            edits.setdefault(uri, []).append(edit)
        return types.WorkspaceEdit(changes=edits)


def _declared(server: CircuitServer, analysis: Analysis, mention: Mention) -> list[Span]:
    """Where a name is declared: of a row that several lines make, the line of this very member, if there is one."""
    elsewhere = server.documents.uri(mention.key.file)
    home = analysis if analysis.path == mention.key.file else server.documents.analysis(elsewhere)
    found = home.declarations(mention.key) if home is not None else []
    exact = [each for each in found if each.whole == mention.whole]
    return [each.span for each in exact or found]


def _symbol(server: CircuitServer, uri: str, entry: Entry) -> types.DocumentSymbol:
    name = server.documents.range(uri, entry.span)
    whole = types.Range(types.Position(name.start.line, 0), types.Position(max(entry.last_line - 1, name.end.line), 0))
    if whole.end.line == name.end.line:
        whole = types.Range(whole.start, name.end)
    kind = SYMBOLS.get(entry.what, types.SymbolKind.Variable)
    inner = [_symbol(server, uri, each) for each in entry.inner]
    return types.DocumentSymbol(safe(entry.name) or entry.what, kind, whole, name, detail=entry.what, children=inner)
