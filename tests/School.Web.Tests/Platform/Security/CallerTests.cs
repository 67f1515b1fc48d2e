using System.Net;
using School.Web.Platform.Security;

namespace School.Web.Tests.Platform.Security;

/// <summary>Documentation addresses of RFC 5737 and RFC 3849; the mapped form is that of RFC 4291 section 2.5.5.2.</summary>
public sealed class CallerTests
{
    [Theory]
    [InlineData("203.0.113.7", "203.0.113.7")]
    [InlineData("::ffff:203.0.113.7", "203.0.113.7")]
    [InlineData("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64")]
    [InlineData("2001:db8:1:2:ffff:ffff:ffff:ffff", "2001:db8:1:2::/64")]
    [InlineData("2001:db8:1:3::", "2001:db8:1:3::/64")]
    public void An_address_counts_as_the_network_of_one_owner(string address, string network) =>
        Assert.Equal(network, Caller.NetworkOf(IPAddress.Parse(address)));

    [Fact]
    public void Where_there_is_no_network_between_there_is_no_name_for_it() => Assert.Equal("", Caller.NetworkOf(null));
}
