using Microsoft.AspNetCore.Diagnostics;
using Npgsql;
using School.Web.Platform.Api;
using School.Web.Platform.Health;
using School.Web.Platform.Keys;

namespace School.Web.Platform.Errors;

/// <summary>What is left over after refusals: one handler for the API (problem details) and one for pages (a page that says what to do).</summary>
internal static class ErrorHandling
{
    private const string RetryAfterSeconds = "10";
    private const string RetryAfterFullSeconds = "300";

    private static readonly Refusal NoText = new(RefusalKind.Invalid, "invalid", "The character U+0000 stands in what was sent. Leave it out.");

    public static void UseErrors(this WebApplication app)
    {
        app.UseWhen(context => context.IsApi(), api =>
        {
            api.UseExceptionHandler(new ExceptionHandlerOptions { ExceptionHandler = AnswerApiAsync, SuppressDiagnosticsCallback = Expected });
            api.UseStatusCodePages(AnswerBareStatusAsync);
        });
        app.UseWhen(context => !context.IsApi(), pages =>
        {
            pages.UseExceptionHandler(new ExceptionHandlerOptions
            {
                ExceptionHandlingPath = "/error/500",
                StatusCodeSelector = exception => IsDatabaseAway(exception) || IsDatabaseFull(exception) || IsKeysLocked(exception) ? StatusCodes.Status503ServiceUnavailable
                    : exception is BadHttpRequestException bad ? bad.StatusCode
                    : IsNoText(exception) ? StatusCodes.Status400BadRequest
                    : StatusCodes.Status500InternalServerError,
                SuppressDiagnosticsCallback = Expected,
            });
            pages.UseStatusCodePagesWithReExecute("/error/{0}");
        });
        app.Use(async (context, next) =>
        {
            var disk = context.RequestServices.GetRequiredService<FullDisk>();
            try
            {
                await next(context);
            }
            catch (Exception exception) when (disk.Heard(exception))
            {
                throw;
            }
        });
    }

    /// <summary>This node has not the key file that opens the keys; another may have.</summary>
    public static bool IsKeysLocked(Exception? exception) => exception is KeysLockedException || (exception is not null && IsKeysLocked(exception.InnerException));

    /// <summary>The database had no room for a write.</summary>
    public static bool IsDatabaseFull(Exception? exception) => exception switch
    {
        null => false,
        PostgresException problem => problem.SqlState == PostgresErrorCodes.DiskFull,
        _ => IsDatabaseFull(exception.InnerException),
    };

    public static bool IsDatabaseAway(Exception? exception) => exception switch
    {
        null => false,
        PostgresException problem => problem.SqlState is PostgresErrorCodes.AdminShutdown or PostgresErrorCodes.CrashShutdown
            or PostgresErrorCodes.CannotConnectNow or PostgresErrorCodes.TooManyConnections,
        NpgsqlException { InnerException: System.Net.Sockets.SocketException or IOException or TimeoutException } => true,
        _ => IsDatabaseAway(exception.InnerException),
    };

    /// <summary>Something was looked up that no row can hold: U+0000, which PostgreSQL keeps in no text.</summary>
    public static bool IsNoText(Exception? exception) => exception switch
    {
        null => false,
        PostgresException problem => problem.SqlState == PostgresErrorCodes.CharacterNotInRepertoire,
        _ => IsNoText(exception.InnerException),
    };

    private static bool Expected(ExceptionHandlerSuppressDiagnosticsContext context) => context.Exception is BadHttpRequestException || IsNoText(context.Exception);

    private static async Task AnswerApiAsync(HttpContext context)
    {
        var fault = context.Features.Get<IExceptionHandlerFeature>()!;
        if (fault.Error is BadHttpRequestException bad)
        {
            await (await Unreadable.ExplainAsync(context, fault, bad)).ToProblem().ExecuteAsync(context);
            return;
        }

        if (IsNoText(fault.Error))
        {
            await NoText.ToProblem().ExecuteAsync(context);
            return;
        }

        if (IsDatabaseAway(fault.Error))
        {
            context.Response.Headers.RetryAfter = RetryAfterSeconds;
            await Problem(context, 503, "The diary is not answering", "The database is away for a moment. Nothing was changed. Try again shortly.", "database_away");
            return;
        }

        if (IsDatabaseFull(fault.Error))
        {
            context.Response.Headers.RetryAfter = RetryAfterFullSeconds;
            await Problem(context, 503, "There is no room left", "The disk of the database is full. Nothing was changed. Whoever runs the service has to make room.", "database_full");
            return;
        }

        if (IsKeysLocked(fault.Error))
        {
            context.Response.Headers.RetryAfter = RetryAfterSeconds;
            await Problem(context, 503, "This node is not set up", "It cannot open the keys of the service. Nothing was changed. Whoever runs the service has to give it the right key file.", "keys_locked");
            return;
        }

        await Problem(
            context, 500, "Something went wrong on our side",
            $"Nothing was changed. Try again; if it happens again, tell the office this number: {context.TraceIdentifier}.", "our_fault");
    }

    /// <summary>Answers of the framework that have a status and no body: an unknown address, a wrong method.</summary>
    private static Task AnswerBareStatusAsync(StatusCodeContext context) => context.HttpContext.Response.StatusCode switch
    {
        400 => AnswerUnreadableAsync(context.HttpContext),
        404 => Refusal.NotFound("thing").ToProblem().ExecuteAsync(context.HttpContext),
        413 => Unreadable.TooLarge.ToProblem().ExecuteAsync(context.HttpContext),
        405 => Problem(context.HttpContext, 405, "Not this way", "This address does not take that method. Look at the API reference at /api.", "method_not_allowed"),
        415 => Problem(context.HttpContext, 415, "Not in this form", "Send the body as application/json.", "json_only"),
        var status => Refused(context.HttpContext, status),
    };

    private static async Task AnswerUnreadableAsync(HttpContext context) =>
        await (await Unreadable.ExplainAsync(context) is { } refusal ? refusal.ToProblem().ExecuteAsync(context) : Refused(context, 400));

    private static Task Refused(HttpContext context, int status) => Problem(context, status, "Refused", "The request was refused.", "refused");

    private static Task Problem(HttpContext context, int status, string title, string detail, string code) =>
        Results.Problem(statusCode: status, title: title, detail: detail, extensions: new Dictionary<string, object?> { ["code"] = code }).ExecuteAsync(context);
}
