using System.Data.Common;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Keys;

namespace School.Web.Modules.People.Operations;

/// <summary>Prints the code of the first sign-in, as long as nobody signs in.</summary>
internal static class SayFirstCode
{
    /// <summary>What to say once the service answers; null where somebody signs in, or the database cannot tell yet.</summary>
    public static async Task<Action?> FirstCodeAsync(this WebApplication app)
    {
        await using var scope = app.Services.CreateAsyncScope();
        try
        {
            var code = scope.ServiceProvider.GetRequiredService<FirstCode>();
            if (!await code.IsOpenAsync(CancellationToken.None))
            {
                return null;
            }

            var (words, url) = (code.Words, app.Services.GetRequiredService<PublicUrl>());
            return () => Console.Out.WriteLine($"Nobody signs in here yet. Begin at {url.Of(FirstSignInModel.Address)} with the code {words}");
        }
        catch (Exception away) when (away is DbException or KeysLockedException or InvalidOperationException { InnerException: DbException })
        {
            return null;
        }
    }
}
