using School.Web.Modules.School.Contracts;

namespace School.Web.Modules.School;

/// <summary>Who the school is, and whether links in letters lead to it.</summary>
internal sealed class SchoolSteps(SchoolInfo school, PublicUrl url) : IFirstSteps
{
    private const string Address = "The address that people use";
    private const string HowTo = "Look at the address";

    public async Task<IReadOnlyList<FirstStep>> ListAsync(string address, CancellationToken cancel)
    {
        var facts = await school.GetAsync(cancel);
        return
        [
            new(
                "who", 10, facts.IsNamed, "Who you are",
                facts.IsNamed ? $"{facts.Name}. Times are those of {facts.Zone.Id}." : "Say whether you teach alone, and what the school is called.",
                facts.IsNamed ? "Change it" : "Say who you are", "/office/who"),
            AddressStep(address),
        ];
    }

    private FirstStep AddressStep(string address)
    {
        var root = url.Of("");
        var (done, sentence) = (url.IsSet, IsThisMachine(root), IsThisMachine(address)) switch
        {
            (false, _, true) =>
                (false, $"Links in letters lead to {root}, which opens on this machine and nowhere else. Whoever runs the service sets School__PublicUrl to the address by which others reach it, such as https://school.example, and starts it anew."),
            (false, _, false) =>
                (false, $"Links in letters lead to {root}, which opens on the machine of the service and nowhere else. You came here by {address}: if others do too, whoever runs the service sets School__PublicUrl={address} and starts it anew."),
            (true, true, _) => (false, $"Links in letters lead to {root}, which opens on the machine of the service and nowhere else. Whoever runs the service sets School__PublicUrl to the address by which others reach it."),
            (true, false, _) when !Uri.TryCreate(root, UriKind.Absolute, out var own) || own.Scheme is not ("http" or "https") =>
                (false, $"School__PublicUrl is {root}, which is no address. It is like https://school.example: whoever runs the service puts it right and starts it anew."),
            (true, false, _) when new Uri(root).AbsolutePath != "/" =>
                (false, $"School__PublicUrl is {root}: the service wants a host name of its own, with nothing behind it, since its pages link to each other from the root. Whoever runs it gives it one."),
            (true, false, _) when string.Equals(root, address, StringComparison.OrdinalIgnoreCase) => (true, $"Links in letters lead to {root}, by which you came here."),
            (true, false, true) => (false, $"Links in letters lead to {root}. You are on the machine of the service itself: open this page by that address, and this step ticks itself."),
            (true, false, false) =>
                (false, $"Links in letters lead to {root}, but you came here by {address}. Open this page by the first; where that does not lead here, or this stays, the proxy does not pass X-Forwarded-Proto and -Host on, or School__PublicUrl should be {address}."),
        };
        return new("address", 30, done, Address, sentence, done ? "" : HowTo, url.IsSet && !done ? $"{root}/" : "") { CanWait = true };
    }

    private static bool IsThisMachine(string address) => Uri.TryCreate(address, UriKind.Absolute, out var uri) && uri.IsLoopback;
}
