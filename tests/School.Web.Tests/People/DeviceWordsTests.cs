using School.Web.Modules.People.SignIn;

namespace School.Web.Tests.People;

/// <summary>What browsers say of themselves (RFC 9110 section 10.1.5); the lines are from memory of their makers' documentation.</summary>
public sealed class DeviceWordsTests
{
    [Theory]
    [InlineData("Mozilla/5.0 (Linux; Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0", "Firefox on Android")]
    [InlineData("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0", "Firefox on Linux")]
    [InlineData("Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.5 Mobile/15E148 Safari/604.1", "Safari on an iPhone")]
    [InlineData("Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) CriOS/141.0 Mobile/15E148 Safari/604.1", "Chrome on an iPhone")]
    [InlineData("Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.5 Safari/605.1.15", "Safari on a Mac")]
    [InlineData("Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/141.0.0.0 Safari/537.36 Edg/141.0.0.0", "Edge on Windows")]
    [InlineData("Mozilla/5.0 (Linux; Android 10; K) AppleWebKit/537.36 (KHTML, like Gecko) SamsungBrowser/28.0 Chrome/130.0.0.0 Mobile Safari/537.36", "Samsung Internet on Android")]
    [InlineData("something <script> else", "a browser")]
    [InlineData("", "a browser")]
    [InlineData(null, "a browser")]
    public void A_browser_is_told_in_words_and_nothing_of_what_it_sent_is_kept(string? said, string words) => Assert.Equal(words, DeviceWords.Of(said));
}
