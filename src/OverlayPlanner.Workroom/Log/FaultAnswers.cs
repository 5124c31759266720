using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Http;

namespace OverlayPlanner.Workroom.Log;

/// <summary>An address that fails answers in words, with the id under which the log has the error.</summary>
internal sealed class FaultAnswers(RequestDelegate next, RoomLog log)
{
    public async Task InvokeAsync(HttpContext context)
    {
        try
        {
            await next(context);
        }
        catch (Exception) when (context.RequestAborted.IsCancellationRequested)
        {
            // Whoever asked is gone.
        }
        catch (BadHttpRequestException e) when (!context.Response.HasStarted)
        {
            context.Response.Clear();
            context.Response.StatusCode = e.StatusCode;
            await context.Response.WriteAsync("The workroom can't read this request.");
        }
        catch (Exception e)
        {
            await AnswerAsync(context, log.Fault($"{context.Request.Method} {context.Request.Path}", e));
        }
    }

    /// <summary>The answer of an address that failed; nothing where an answer is under way already.</summary>
    /// <param name="id">The error's id.</param>
    public static Task AnswerAsync(HttpContext context, string id)
    {
        if (context.Response.HasStarted)
        {
            context.Abort();
            return Task.CompletedTask;
        }

        context.Response.Clear();
        return PlainPage.WriteAsync(
            context,
            StatusCodes.Status500InternalServerError,
            "Something went wrong",
            $"""
            <p>What you saved is safe. Go back and try again.</p>
            <p>If it happens again, the file {RoomLog.FileName} beside your quilts tells what it was, under the error id <strong>{HtmlEncoder.Default.Encode(
                id
            )}</strong>.</p>
            """
        );
    }
}
